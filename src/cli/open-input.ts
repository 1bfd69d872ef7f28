// The recording a command reads: a path, or standard input.
import { createReadStream } from 'node:fs';
import { openRecording, READ_BYTES } from '../replay/open.ts';
import { InputError } from '../trace/input-error.ts';
import type { OpenTrace } from '../trace/observation.ts';
import { isSystemError, systemReason } from './errors.ts';
import type { Io } from './io.ts';
import { until } from './until.ts';

/** Opens a path, or standard input for `-`, until the run is interrupted. Throws InputError. */
export function openInput(path: string, io: Io): Promise<OpenTrace> {
  const name = path === '-' ? 'standard input' : path;
  const bytes = path === '-' ? io.stdin : createReadStream(path, { highWaterMark: READ_BYTES });
  return openRecording(fromFileSystem(until(io.interrupted, bytes), name), name);
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
