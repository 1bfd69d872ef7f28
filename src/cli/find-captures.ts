// Paths of the command line → files to replay, in an order that never changes.
import type { Dirent } from 'node:fs';
import { open, readdir, stat } from 'node:fs/promises';
import { join } from 'node:path';
import { isSystemError, systemReason } from './errors.ts';

/** Enough of a file to know a capture or a trace by. */
const FIRST_BYTES = 4096;

/** A file to replay, or a path of which nothing can be replayed, with the reason. */
export interface Entry {
  path: string;
  /** Its size; 0 where that says nothing, as for a pipe. */
  bytes: number;
  reason?: string;
}

/**
 * Files are taken as named, whatever they hold. Folders are walked, each level sorted by name, without dot
 * files and without following links to folders; of their files those that begin like a capture or a trace
 * are taken, the others skipped. A file met twice is replayed once.
 */
export async function findCaptures(
  paths: string[],
  isInput: (firstBytes: Uint8Array) => boolean,
): Promise<Entry[]> {
  const entries = new Map<string, Entry>();
  for (const path of paths) {
    for (const entry of await entriesOf(path, isInput)) {
      if (!entries.has(entry.path)) entries.set(entry.path, entry);
    }
  }
  return [...entries.values()];
}

async function entriesOf(
  path: string,
  isInput: (firstBytes: Uint8Array) => boolean,
): Promise<Entry[]> {
  try {
    const about = await stat(path);
    if (!about.isDirectory()) return [{ path, bytes: about.size }];
  } catch (error) {
    return [failed(path, error)];
  }
  const found: Entry[] = [];
  await walk(path, isInput, found);
  if (found.length > 0) return found;
  return [{ path, bytes: 0, reason: `${path}: no capture and no trace is in this folder` }];
}

async function walk(
  folder: string,
  isInput: (firstBytes: Uint8Array) => boolean,
  found: Entry[],
): Promise<void> {
  let children: Dirent[];
  try {
    children = await readdir(folder, { withFileTypes: true });
  } catch (error) {
    found.push(failed(folder, error));
    return;
  }
  children.sort((a, b) => (a.name < b.name ? -1 : a.name > b.name ? 1 : 0));
  for (const child of children) {
    if (child.name.startsWith('.')) continue;
    const path = join(folder, child.name);
    if (child.isDirectory()) {
      await walk(path, isInput, found);
      continue;
    }
    try {
      if (!(await isRegularFile(child, path))) continue;
      const { first, bytes } = await beginningOf(path);
      if (isInput(first)) found.push({ path, bytes });
    } catch (error) {
      found.push(failed(path, error));
    }
  }
}

/** Pipes and devices would block or never end. */
async function isRegularFile(child: Dirent, path: string): Promise<boolean> {
  return child.isFile() || (child.isSymbolicLink() && (await stat(path)).isFile());
}

async function beginningOf(path: string): Promise<{ first: Uint8Array; bytes: number }> {
  const file = await open(path);
  try {
    const buffer = new Uint8Array(FIRST_BYTES);
    const { bytesRead } = await file.read(buffer, 0, FIRST_BYTES, 0);
    return { first: buffer.subarray(0, bytesRead), bytes: (await file.stat()).size };
  } finally {
    await file.close();
  }
}

function failed(path: string, error: unknown): Entry {
  if (!isSystemError(error)) throw error;
  return { path, bytes: 0, reason: `${path}: ${systemReason(error)}` };
}
