// A recording, told by its first bytes, not by its name: a capture file, a trace or a CSV log.
import { createReadStream } from 'node:fs';
import { InputError } from '../trace/input-error.ts';
import type { OpenTrace } from '../trace/observation.ts';
import { isTrace, openTrace } from '../trace/reader.ts';
import { isCapture, openCapture } from '../wire/open.ts';
import { isSystemError, systemReason } from './errors.ts';
import type { Io } from './io.ts';
import { until } from './until.ts';

/** Enough for either to be told by. */
const FIRST_BYTES = 4096;

/** A heading with a time column is what a CSV log begins with. */
const CSV_HEADING = /^(?:\ufeff)?[^\n]*(?<![\w-])"?time(?:_s)?"?(?![\w-])[^\n]*[,;\t\r\n]/;

type Form = 'capture' | 'trace' | 'log';

/** What a file that begins so is; null when it is nothing that can be read. */
export function formOf(first: Uint8Array): Form | null {
  if (isCapture(first)) return 'capture';
  if (isTrace(first)) return 'trace';
  return CSV_HEADING.test(Buffer.from(first).toString('utf8')) ? 'log' : null;
}

/** Opens a path, or standard input for `-`, until the run is interrupted. */
export function openInput(path: string, io: Io): Promise<OpenTrace> {
  if (path === '-') return openSource(until(io.interrupted, io.stdin), 'standard input');
  return openSource(until(io.interrupted, createReadStream(path)), path);
}

export function openFile(path: string): Promise<OpenTrace> {
  return openSource(createReadStream(path), path);
}

/** Throws InputError for what is neither a capture nor a trace nor a log. */
async function openSource(bytes: AsyncIterable<Uint8Array>, name: string): Promise<OpenTrace> {
  const { first, whole } = await peek(fromFileSystem(bytes, name));
  const form = formOf(first);
  if (form === 'capture') return openCapture(whole, name);
  if (form === 'trace') return openTrace(whole, name);
  if (form === 'log') return (await import('../trace/csv.ts')).openCsv(whole, name);
  const mend =
    'give a pcap or pcapng capture, a trace as `handfast decode` writes it, or a CSV log';
  const what = first.length === 0 ? 'it is empty' : 'neither a capture nor a trace';
  throw new InputError(what, { file: name }, mend);
}

/** The first bytes of a source, and the source with them still in it. */
async function peek(
  source: AsyncIterable<Uint8Array>,
): Promise<{ first: Uint8Array; whole: AsyncIterable<Uint8Array> }> {
  const chunks = source[Symbol.asyncIterator]();
  const held: Uint8Array[] = [];
  let size = 0;
  while (size < FIRST_BYTES) {
    const next = await chunks.next();
    if (next.done) break;
    held.push(next.value);
    size += next.value.length;
  }
  const first = held.length === 1 ? held[0]! : Buffer.concat(held);
  return { first, whole: rejoined(held, chunks) };
}

async function* rejoined(
  held: Uint8Array[],
  chunks: AsyncIterator<Uint8Array>,
): AsyncGenerator<Uint8Array, void, void> {
  try {
    yield* held;
    for (let next = await chunks.next(); !next.done; next = await chunks.next()) yield next.value;
  } finally {
    await chunks.return?.();
  }
}

/** The same bytes; what the file system refuses is told with the file's name, as an InputError. */
async function* fromFileSystem(
  source: AsyncIterable<Uint8Array>,
  name: string,
): AsyncGenerator<Uint8Array, void, void> {
  try {
    yield* source;
  } catch (error) {
    if (!isSystemError(error)) throw error;
    throw new InputError(systemReason(error), { file: name }, 'check the path');
  }
}
