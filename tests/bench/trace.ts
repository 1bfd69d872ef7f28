// The trace reader against JSON.parse of every line alone (no splitting, no checks, no observations), in one run;
// with --large also the memory that a trace of 1 GB takes.
import { Buffer } from 'node:buffer';
import type { JsonObject, Observation } from '../../src/trace/observation.ts';
import { openTrace } from '../../src/trace/reader.ts';
import { headerLine, observationLine } from '../../src/trace/writer.ts';

const CHUNK_BYTES = 64 * 1024;
const ROUNDS = 9;
const HEADER = headerLine({ handfast: 'trace', version: 1, epoch: null });

/** A PhysicalValue of ISO 15118-2. */
function quantity(Unit: string, Value: number): JsonObject {
  return { Multiplier: -1, Unit, Value };
}

function demand(index: number): Observation[] {
  const at_ns = index * 250_000_000 + 1_234_567;
  const common = { kind: 'message', protocol: 'iso15118-2', link: 'tcp:1' } as const;
  const header = { SessionID: '0102030405060708' };
  const DC_EVStatus = { EVReady: true, EVErrorCode: 'NO_ERROR', EVRESSSOC: index % 100 };
  const DC_EVSEStatus = {
    NotificationMaxDelay: 0,
    EVSENotification: 'None',
    EVSEIsolationStatus: 'Valid',
    EVSEStatusCode: 'EVSE_Ready',
  };
  const request = {
    DC_EVStatus,
    EVTargetCurrent: quantity('A', 1800 + (index % 7)),
    EVMaximumVoltageLimit: quantity('V', 4200),
    BulkChargingComplete: false,
    ChargingComplete: false,
    EVTargetVoltage: quantity('V', 3990 + (index % 20)),
  };
  const response = {
    ResponseCode: 'OK',
    DC_EVSEStatus,
    EVSEPresentVoltage: quantity('V', 3980 + (index % 20)),
    EVSEPresentCurrent: quantity('A', 1795 + (index % 7)),
    EVSECurrentLimitAchieved: false,
    EVSEVoltageLimitAchieved: false,
    EVSEPowerLimitAchieved: false,
    EVSEID: 'DE*ABC*E00001',
    SAScheduleTupleID: 1,
  };
  const frame = 2 * index + 1;
  return [
    {
      ...common,
      at_ns,
      frame,
      from: 'vehicle',
      name: 'CurrentDemandReq',
      message: request,
      header,
    },
    {
      ...common,
      at_ns: at_ns + 20_000_000,
      frame: frame + 1,
      from: 'charger',
      name: 'CurrentDemandRes',
      message: response,
      header,
    },
  ];
}

function meter(index: number): Observation[] {
  const at_ns = index * 1_000_000;
  return [
    { kind: 'voltage', at_ns, place: 'output', voltage_V: 399.5 + (index % 10) / 10 },
    { kind: 'current', at_ns, current_A: 179.25 + (index % 8) / 8 },
  ];
}

function linesOf(make: (index: number) => Observation[], count: number): string[] {
  const lines: string[] = [];
  for (let index = 0; index < count; index += 1) {
    for (const observation of make(index)) lines.push(observationLine(observation));
  }
  return lines;
}

async function* chunksOf(bytes: Buffer): AsyncGenerator<Buffer> {
  for (let start = 0; start < bytes.length; start += CHUNK_BYTES) {
    yield bytes.subarray(start, start + CHUNK_BYTES);
  }
}

async function observationsIn(source: AsyncIterable<Uint8Array>): Promise<number> {
  let count = 0;
  for await (const batch of (await openTrace(source, 'bench')).observations) count += batch.length;
  return count;
}

function median(values: number[]): number {
  return values.sort((a, b) => a - b)[values.length >> 1]!;
}

async function compare(what: string, lines: string[]): Promise<string> {
  const bytes = Buffer.from(`${HEADER}\n${lines.join('\n')}\n`);
  const reader_ms: number[] = [];
  const parse_ms: number[] = [];
  for (let round = 0; round < ROUNDS; round += 1) {
    let begun = performance.now();
    let fields = 0;
    for (const line of lines) fields += JSON.parse(line).kind.length;
    parse_ms.push(performance.now() - begun);
    begun = performance.now();
    const count = await observationsIn(chunksOf(bytes));
    reader_ms.push(performance.now() - begun);
    if (count !== lines.length || fields === 0) throw new Error(`${count} of ${lines.length} read`);
  }
  const [reader, parse] = [median(reader_ms), median(parse_ms)];
  const rate = (bytes.length / 1e6 / (reader / 1e3)).toFixed(0);
  const ratio = (reader / parse).toFixed(2);
  const sizes = `${lines.length} lines, ${(bytes.length / 1e6).toFixed(0)} MB`;
  return `trace reader, ${what} (${sizes}): ${rate} MB/s, ${ratio}x the time of JSON.parse alone`;
}

function megabytes(bytes: number): string {
  return (bytes / 1e6).toFixed(0);
}

async function* gigabyte(): AsyncGenerator<Buffer> {
  yield Buffer.from(`${HEADER}\n`);
  const block = Buffer.from(`${linesOf(demand, 1000).join('\n')}\n`);
  for (let sent = 0; sent < 1e9; sent += block.length) yield* chunksOf(block);
}

async function memoryOfGigabyte(): Promise<string> {
  globalThis.gc?.();
  const before = process.memoryUsage.rss();
  let peak = before;
  const begun = performance.now();
  const trace = await openTrace(gigabyte(), 'bench');
  for await (const batch of trace.observations) {
    if (batch.length > 0) peak = Math.max(peak, process.memoryUsage.rss());
  }
  const seconds = ((performance.now() - begun) / 1e3).toFixed(1);
  return `1 GB trace: ${seconds} s, at most ${megabytes(peak)} MB resident (${megabytes(before)} before)`;
}

export async function run(): Promise<string[]> {
  const results = process.argv.includes('--large') ? [await memoryOfGigabyte()] : [];
  results.push(await compare('messages', linesOf(demand, 20_000)));
  results.push(await compare('meter readings', linesOf(meter, 100_000)));
  return results;
}

if (process.argv[1] === import.meta.filename) {
  for (const line of await run()) console.log(line);
}
