// A recording, told by its first bytes, not by its name: a capture file or a trace.
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

/** Opens a path, or standard input for `-`. Throws InputError for what is neither a capture nor a trace. */
export async function openInput(path: string, io: Io): Promise<OpenTrace> {
  const name = path === '-' ? 'standard input' : path;
  const bytes = path === '-' ? io.stdin : createReadStream(path);
  const source = fromFileSystem(until(io.interrupted, bytes), name);
  const { first, whole } = await peek(source);
  if (isCapture(first)) return openCapture(whole, name);
  if (isTrace(first)) return openTrace(whole, name);
  const mend = 'give a pcap or pcapng capture, or a trace as `handfast decode` writes it';
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
