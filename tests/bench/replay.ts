// Replay of a session of one hour and 60,000 messages, given as a trace, against JSON.parse of every line alone, in one
// run; with --large also the memory that a session of 1 GB takes. The session is that of a field capture, its energy
// transfer told again and again, each time later.
import { Buffer } from 'node:buffer';
import { openFile } from '../../src/replay/open.ts';
import { replayTrace } from '../../src/replay/replay.ts';
import type { FileResult } from '../../src/rules/result.ts';
import type { Observation } from '../../src/trace/observation.ts';
import { openTrace } from '../../src/trace/reader.ts';
import { headerLine, observationLine } from '../../src/trace/writer.ts';
import { machines } from '../support/machines.ts';

const CAPTURE = 'traces/field/iso2-clean.pcap';
export const MESSAGES = 60_000;
const ROUNDS = 9;
const CHUNK_BYTES = 64 * 1024;
const LARGE_BYTES = 1e9;
export const HEADER = headerLine({ handfast: 'trace', version: 1, epoch: null });

/** A session cut where its current stands still: requests of the highest current, and their answers. */
export interface Cut {
  before: Observation[];
  transfer: Observation[];
  after: Observation[];
}

export async function cutSession(): Promise<Cut> {
  const all: Observation[] = [];
  for await (const batch of (await openFile(CAPTURE, [])).observations) all.push(...batch);
  const asked = all.map((one) =>
    one.kind === 'message' && one.name === 'CurrentDemandReq' ? currentOf(one.message) : 0,
  );
  const most = Math.max(...asked);
  const first = asked.indexOf(most);
  const last = asked.lastIndexOf(most);
  return {
    before: all.slice(0, first),
    transfer: all.slice(first, last),
    after: all.slice(last),
  };
}

function currentOf(message: { [field: string]: unknown }): number {
  const { Multiplier, Value } = message.EVTargetCurrent as { Multiplier: number; Value: number };
  return Value * 10 ** Multiplier;
}

/** The lines of a session whose transfer is told `times` times. */
export function* linesOf({ before, transfer, after }: Cut, times: number): Generator<string> {
  const begin_ns = transfer[0]!.at_ns;
  const frames = transfer.length;
  const length_ns = after[0]!.at_ns - begin_ns;
  const later = (one: Observation, round: number): string =>
    observationLine({
      ...one,
      at_ns: one.at_ns + round * length_ns,
      frame: one.frame! + round * frames,
    });
  for (const one of before) yield observationLine(one);
  for (let round = 0; round < times; round += 1) {
    for (const one of transfer) yield later(one, round);
  }
  for (const one of after) yield later(one, times - 1);
}

function* chunksOf(bytes: Buffer): Generator<Buffer> {
  for (let start = 0; start < bytes.length; start += CHUNK_BYTES) {
    yield bytes.subarray(start, start + CHUNK_BYTES);
  }
}

async function* large(cut: Cut): AsyncGenerator<Buffer> {
  yield Buffer.from(`${HEADER}\n`);
  const bytesOfTransfer = [
    ...linesOf({ ...cut, before: [], after: cut.after.slice(0, 1) }, 1),
  ].join('\n').length;
  let waiting: string[] = [];
  for (const line of linesOf(cut, Math.ceil(LARGE_BYTES / bytesOfTransfer))) {
    waiting.push(line);
    if (waiting.length < 200) continue;
    yield Buffer.from(`${waiting.join('\n')}\n`);
    waiting = [];
  }
  yield Buffer.from(`${waiting.join('\n')}\n`);
}

async function replayed(source: AsyncIterable<Uint8Array>): Promise<FileResult> {
  const options = { machines, strict: true, crashDeadline_ms: 100 };
  const result = await replayTrace(await openTrace(source, 'bench'), 'bench', options);
  if (result.verdict !== 'holds') throw new Error(`the session is ${result.verdict}`);
  return result;
}

const megabytes = (bytes: number): string => (bytes / 1e6).toFixed(0);

const median = (values: number[]): number => values.sort((a, b) => a - b)[values.length >> 1]!;

async function compare(cut: Cut): Promise<string> {
  const around = cut.before.length + cut.after.length;
  const lines = [...linesOf(cut, Math.round((MESSAGES - around) / cut.transfer.length))];
  const bytes = Buffer.from(`${HEADER}\n${lines.join('\n')}\n`);
  async function* source(): AsyncGenerator<Buffer> {
    yield* chunksOf(bytes);
  }
  const replay_ms: number[] = [];
  const parse_ms: number[] = [];
  let told = '';
  for (let round = 0; round < ROUNDS; round += 1) {
    let begun = performance.now();
    let fields = 0;
    for (const line of lines) fields += JSON.parse(line).kind.length;
    parse_ms.push(performance.now() - begun);
    begun = performance.now();
    const [session] = (await replayed(source())).sessions;
    replay_ms.push(performance.now() - begun);
    if (fields === 0 || session === undefined) throw new Error('nothing was replayed');
    const { summary, from, to } = session;
    told = `${summary.messages} messages in ${((to - from) / 60).toFixed(0)} min`;
  }
  const first = replay_ms[0]!.toFixed(0);
  const [replay, parse] = [median(replay_ms), median(parse_ms)];
  const sizes = `${told}, ${megabytes(bytes.length)} MB`;
  const times = `${replay.toFixed(0)} ms (first ${first} ms) against ${parse.toFixed(0)} ms`;
  const ratio = (replay / parse).toFixed(2);
  return `replay of a trace (${sizes}): ${times}, ${ratio}x the time of JSON.parse alone (floor 1.5x)`;
}

async function memoryOf(cut: Cut): Promise<string> {
  globalThis.gc?.();
  const before = process.memoryUsage.rss();
  let peak = before;
  async function* watched(): AsyncGenerator<Buffer> {
    for await (const chunk of large(cut)) {
      peak = Math.max(peak, process.memoryUsage.rss());
      yield chunk;
    }
  }
  const begun = performance.now();
  await replayed(watched());
  const seconds = ((performance.now() - begun) / 1e3).toFixed(0);
  return `replay of a trace of 1 GB: ${seconds} s, at most ${megabytes(peak)} MB resident (${megabytes(before)} before)`;
}

export async function run(): Promise<string[]> {
  const cut = await cutSession();
  const results = process.argv.includes('--large') ? [await memoryOf(cut)] : [];
  results.push(await compare(cut));
  return results;
}

if (process.argv[1] === import.meta.filename) {
  for (const line of await run()) console.log(line);
}
