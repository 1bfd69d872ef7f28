// Files that a command was asked to write.
import { constants } from 'node:fs';
import { access, mkdir, stat, writeFile } from 'node:fs/promises';
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
export function writeText(path: string, text: string): Promise<void> {
  return told(path, 'written', () => writeFile(path, text));
}

/** A folder, with those it stands in, where it is not there yet. Throws a UsageError when it cannot be made. */
export function makeFolder(path: string): Promise<void> {
  return told(path, 'made', () => mkdir(path, { recursive: true }));
}

async function told(path: string, done: string, run: () => Promise<unknown>): Promise<void> {
  try {
    await run();
  } catch (error) {
    if (!isSystemError(error)) throw error;
    throw new UsageError(`${path} cannot be ${done}: ${reasonOf(error)}`);
  }
}

const REASONS: Record<string, string> = {
  ENOENT: 'its folder does not exist',
  EACCES: 'permission denied',
  EROFS: 'nothing there may be changed',
  EISDIR: 'it is a folder',
  EEXIST: 'it is a file',
  ENOTDIR: 'a part of the path is no folder',
  ENOSPC: 'no room is left',
};

function reasonOf({ code = '', message }: NodeJS.ErrnoException): string {
  return REASONS[code] ?? message;
}
