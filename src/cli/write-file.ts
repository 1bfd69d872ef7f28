// Files that a command was asked to write.
import { writeFile } from 'node:fs/promises';
import { isSystemError, UsageError } from './errors.ts';

/** Throws a UsageError when the file cannot be written. */
export async function writeText(path: string, text: string): Promise<void> {
  try {
    await writeFile(path, text);
  } catch (error) {
    if (!isSystemError(error)) throw error;
    throw new UsageError(`${path} cannot be written: ${reasonOf(error)}`);
  }
}

const REASONS: Record<string, string> = {
  ENOENT: 'its folder does not exist',
  EACCES: 'permission denied',
  EROFS: 'nothing there may be changed',
  EISDIR: 'it is a folder',
  ENOTDIR: 'a part of the path is no folder',
  ENOSPC: 'no room is left',
};

function reasonOf({ code = '', message }: NodeJS.ErrnoException): string {
  return REASONS[code] ?? message;
}
