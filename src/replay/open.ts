// A recording, told by its first bytes, not by its name: a capture, a trace, or a log in columns.
import { createReadStream } from 'node:fs';
import { basename } from 'node:path';
import { openCsv } from '../trace/csv.ts';
import { InputError } from '../trace/input-error.ts';
import { mergeTraces } from '../trace/merge.ts';
import type { OpenTrace } from '../trace/observation.ts';
import { isTrace, openTrace } from '../trace/reader.ts';
import { isCapture, openCapture } from '../wire/open.ts';

/** Large reads: a capture of 200,000 packets takes a quarter less time than with 64 KiB (measured). */
export const READ_BYTES = 256 * 1024;

/** Enough of a file to tell what it is. */
const FIRST_BYTES = 4096;

/** Whether bytes begin a capture or a trace. */
const isRecording = (first: Uint8Array): boolean => isCapture(first) || isTrace(first);

/** Opens a capture or a trace. Throws InputError for anything else. */
export async function openRecording(
  source: AsyncIterable<Uint8Array>,
  name: string,
): Promise<OpenTrace> {
  const { first, whole } = await peek(source);
  if (isCapture(first)) return openCapture(whole, name);
  if (isTrace(first)) return openTrace(whole, name);
  const what = first.length === 0 ? 'it is empty' : 'neither a capture nor a trace';
  const mend = 'give a pcap or pcapng capture, or a trace as `handfast decode` writes it';
  throw new InputError(what, { file: name }, mend);
}

/** A second recorder's file: a capture, a trace, or a table with named columns (CSV). */
async function openBeside(path: string): Promise<OpenTrace> {
  const { first, whole } = await peek(createReadStream(path, { highWaterMark: READ_BYTES }));
  return isRecording(first) ? openRecording(whole, path) : openCsv(whole, path);
}

export interface Beside {
  path: string;
  /** Added to that recorder's clock, in nanoseconds. */
  offset_ns: number;
}

/** A file, and what other recorders saw of the same sessions, on one clock. */
export async function openFile(path: string, beside: Beside[]): Promise<OpenTrace> {
  const main = await openRecording(createReadStream(path, { highWaterMark: READ_BYTES }), path);
  if (beside.length === 0) return main;
  const others = await Promise.all(
    beside.map(async (one) => ({
      trace: await openBeside(one.path),
      offset_ns: one.offset_ns,
      recorder: basename(one.path),
    })),
  );
  return mergeTraces(main, others);
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
    if (next.done === true) break;
    held.push(next.value);
    size += next.value.length;
  }
  const first = held.length === 1 ? held[0]! : Buffer.concat(held);
  return { first, whole: rejoined(held, chunks) };
}

async function* rejoined(
  held: Uint8Array[],
  chunks: AsyncIterator<Uint8Array>,
): AsyncGenerator<Uint8Array> {
  try {
    yield* held;
    for (let next = await chunks.next(); next.done !== true; next = await chunks.next()) {
      yield next.value;
    }
  } finally {
    await chunks.return?.();
  }
}
