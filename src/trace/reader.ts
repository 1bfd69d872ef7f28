// A trace file → header and observations, in batches and bounded memory. What can be kept of a damaged file is kept,
// and what was lost is told in notes between the observations.
import { ClockWatch } from './clock.ts';
import { observationOf, headerOf } from './decode.ts';
import { InputError } from './input-error.ts';
import { type LineBlock, lineBlocks } from './lines.ts';
import type { NoteObservation, Observation, OpenTrace, TraceHeader } from './observation.ts';
import { headerFault, observationFault, shown } from './schema.ts';
import { instantOf, instantText } from './time.ts';

const LINE_CAP_BYTES = 1024 * 1024;
/** Lines that cannot be read before the file is given up. */
const BAD_LINES_CAP = 100;
/** Nesting of a message's content; deeper would overflow the stack of whoever walks it. */
const DEPTH_CAP = 1000;

const HEADER_MEND =
  'a trace begins with a line {"handfast":"trace","version":1,"epoch":null}, see trace.schema.json';

/** Whether a file that begins so is meant as a trace: JSON, while no capture file begins with a brace. */
export function isTrace(firstBytes: Uint8Array): boolean {
  const start = new TextDecoder('latin1').decode(firstBytes.subarray(0, 4096));
  // UTF-16 is meant as one too: openTrace says how to mend it.
  return /^(?:ï»¿)?[ \t\r\n]*\{|^(?:ÿþ\{|þÿ\0\{)/.test(start);
}

/**
 * Opens a trace: UTF-8 JSON Lines as trace.schema.json has them, with or without byte order mark, carriage returns,
 * blank lines and a last newline. `name` stands in messages.
 *
 * A bad line becomes a note with problem `damaged`, a last line that breaks off one with `cut`, a time before its
 * predecessor's one with `clock` (the observation stays where it was read). Throws InputError without a header, at a
 * second header, and beyond 100 bad lines, after the observations before it.
 */
export async function openTrace(
  source: AsyncIterable<Uint8Array>,
  name: string,
): Promise<OpenTrace> {
  const blocks = lineBlocks(source, LINE_CAP_BYTES);
  try {
    const { header, rest } = await readHeader(blocks, name);
    return { header, observations: batches(rest, blocks, name) };
  } catch (error) {
    await blocks.return();
    throw error;
  }
}

async function* batches(
  rest: LineBlock,
  blocks: AsyncGenerator<LineBlock, void, void>,
  name: string,
): AsyncGenerator<Observation[], void, void> {
  const reader = new LineReader(name);
  try {
    for (let block: LineBlock | void = rest; block; block = (await blocks.next()).value) {
      const batch = await reader.read(block);
      if (batch.length > 0) yield batch;
      if (reader.given !== null) throw reader.given;
    }
  } finally {
    await blocks.return();
  }
}

async function readHeader(
  blocks: AsyncGenerator<LineBlock, void, void>,
  name: string,
): Promise<{ header: TraceHeader; rest: LineBlock }> {
  for (let next = await blocks.next(); !next.done; next = await blocks.next()) {
    const block = next.value;
    const index = block.overlong ? 0 : block.lines.findIndex((text) => text.trim() !== '');
    if (index < 0) continue;
    const header = await headerOn(block.lines[index]!, { file: name, line: block.first + index });
    const rest = { ...block, first: block.first + index + 1, lines: block.lines.slice(index + 1) };
    return { header, rest };
  }
  throw new InputError('the trace is empty', { file: name }, HEADER_MEND);
}

async function headerOn(text: string, place: { file: string; line: number }): Promise<TraceHeader> {
  if (text.includes('\0')) {
    throw new InputError('this is no UTF-8 text', place, 'save the trace as UTF-8');
  }
  const line = parsed(text);
  if (!isHeader(line)) {
    throw new InputError('the first line is no header of a trace', place, HEADER_MEND);
  }
  const header = headerOf(line);
  if (header === null) {
    const fault = (await headerFault(line)) ?? 'the header cannot be read';
    throw new InputError(fault, place, HEADER_MEND);
  }
  if (header.epoch === null) return header;
  const epoch_ns = instantOf(header.epoch);
  if (epoch_ns === null) {
    const mend = 'give a day of the calendar and a time of the day, or null';
    throw new InputError(`epoch is no time: ${shown(header.epoch)}`, place, mend);
  }
  return { ...header, epoch: instantText(epoch_ns) };
}

class LineReader {
  /** Why the file was given up, once it was. */
  given: InputError | null = null;
  private readonly name: string;
  private readonly clock = new ClockWatch();
  private badLines = 0;

  constructor(name: string) {
    this.name = name;
  }

  async read(block: LineBlock): Promise<Observation[]> {
    const batch: Observation[] = [];
    if (block.overlong) {
      this.bad(batch, block.first, `it is longer than ${LINE_CAP_BYTES} bytes`);
      return batch;
    }
    const { lines } = block;
    for (let index = 0; index < lines.length && this.given === null; index += 1) {
      const text = lines[index]!;
      const line = parsed(text);
      const observation = line === undefined ? null : observationOf(line);
      if (observation === null || (text.length > 2 * DEPTH_CAP && tooDeep(line))) {
        const unended = block.unended && index === lines.length - 1;
        await this.refuse(batch, block.first + index, text, line, unended);
      } else {
        this.keep(batch, observation, block.first + index);
      }
    }
    return batch;
  }

  private keep(batch: Observation[], observation: Observation, line: number): void {
    const step = this.clock.next(observation.at_ns, line);
    // A trace may already tell the step itself.
    const told = observation.kind === 'note' && observation.problem === 'clock';
    if (step !== null && !told) batch.push(step);
    batch.push(observation);
  }

  private async refuse(
    batch: Observation[],
    number: number,
    text: string,
    line: unknown,
    unended: boolean,
  ): Promise<void> {
    if (line === undefined) {
      if (text.trim() === '') return;
      if (unended) this.tell(batch, 'cut', `line ${number}: the trace breaks off inside it`);
      else this.bad(batch, number, `it is no JSON: ${shown(text)}`);
      return;
    }
    if (isHeader(line)) {
      const place = { file: this.name, line: number };
      const mend = 'split the file at this line and give both files';
      this.given = new InputError('a second header: these are two traces in one file', place, mend);
      return;
    }
    const fault = await observationFault(line);
    this.bad(batch, number, fault ?? `its content is nested deeper than ${DEPTH_CAP} levels`);
  }

  private bad(batch: Observation[], number: number, fault: string): void {
    this.tell(batch, 'damaged', `line ${number}: ${fault}`);
    this.badLines += 1;
    if (this.badLines <= BAD_LINES_CAP) return;
    const what = `more than ${BAD_LINES_CAP} lines cannot be read, the last because ${fault}`;
    const mend = 'see trace.schema.json for what a line may hold';
    this.given = new InputError(what, { file: this.name, line: number }, mend);
  }

  private tell(batch: Observation[], problem: NoteObservation['problem'] & {}, says: string): void {
    batch.push({ kind: 'note', at_ns: this.clock.last_ns, says, problem });
  }
}

/** The JSON value of a line; undefined when it is none. */
function parsed(text: string): unknown {
  // An empty line is common, at the end of most files, and a thrown error costs more than reading a line.
  if (text.length < 2) return undefined;
  try {
    return JSON.parse(text);
  } catch {
    return undefined;
  }
}

function isHeader(line: unknown): boolean {
  return typeof line === 'object' && line !== null && Object.hasOwn(line, 'handfast');
}

/** Whether a value is nested beyond DEPTH_CAP; walks level by level, so that nothing overflows. */
function tooDeep(value: unknown): boolean {
  let level: unknown[] = [value];
  for (let depth = 0; level.length > 0; depth += 1) {
    if (depth > DEPTH_CAP) return true;
    level = level
      .filter((item): item is object => typeof item === 'object' && item !== null)
      .flatMap((item) => Object.values(item));
  }
  return false;
}
