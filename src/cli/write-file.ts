// Files that a command was asked to write.
import { constants } from 'node:fs';
import { access, stat, writeFile } from 'node:fs/promises';
import { dirname } from 'node:path';
import { isSystemError, UsageError } from './errors.ts';

/** Throws a UsageError when the file could not be written: told before the work, not after it. */
export async function expectWritable(path: string): Promise<void> {
  try {
    if ((await stat(dirname(path))).isDirectory()) await access(dirname(path), constants.W_OK);
    if (await isFolder(path)) throw new UsageError(`${path} cannot be written: it is a folder`);
  } catch (error) {
    if (!isSystemError(error)) throw error;
    throw new UsageError(`${path} cannot be written: ${reasonOf(error)}`);
  }
}

async function isFolder(path: string): Promise<boolean> {
  return (await stat(path).catch(() => null))?.isDirectory() ?? false;
}

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
