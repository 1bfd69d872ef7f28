// Files as they stood at a git revision, named `REV:path` as git names them. A machine imports its neighbours, so the
// whole tree of the revision is laid out in a folder of its own, which is removed afterwards.
import { execFile } from 'node:child_process';
import { existsSync } from 'node:fs';
import { mkdtemp, rm, symlink } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { promisify } from 'node:util';
import { InputError } from '../trace/input-error.ts';

const run = promisify(execFile);
const MAXIMUM_OUTPUT_BYTES = 1024 * 1024;

/** Hands `use` the path at which the file can be read; a file that is there is itself. */
export async function atRevision<T>(name: string, use: (path: string) => Promise<T>): Promise<T> {
  const colon = name.indexOf(':');
  if (colon < 1 || existsSync(name)) return use(name);
  const [revision, path] = [name.slice(0, colon), name.slice(colon + 1)];
  const folder = await mkdtemp(join(tmpdir(), 'handfast-'));
  try {
    await layOut(revision, folder, name);
    return await use(join(folder, path));
  } catch (error) {
    throw error instanceof InputError ? named(error, folder, revision) : error;
  } finally {
    await rm(folder, { recursive: true, force: true });
  }
}

async function layOut(revision: string, folder: string, name: string): Promise<void> {
  const git = async (...words: string[]): Promise<string> => {
    const env = { ...process.env, GIT_INDEX_FILE: join(folder, '.index') };
    const { stdout } = await run('git', words, { env, maxBuffer: MAXIMUM_OUTPUT_BYTES });
    return stdout.trim();
  };
  const top = await git('rev-parse', '--show-toplevel').catch(() => {
    const mend = 'run it inside the repository, or give two files';
    throw new InputError('there is no such file, and no git repository here', { file: name }, mend);
  });
  const tree = await git(
    'rev-parse',
    '--verify',
    '--quiet',
    '--end-of-options',
    `${revision}^{tree}`,
  ).catch(() => {
    const mend = 'give a commit, a branch or a tag before the colon';
    throw new InputError(`git knows no revision '${revision}'`, { file: name }, mend);
  });
  await git('-C', top, 'read-tree', tree);
  await git('-C', top, 'checkout-index', '--all', `--prefix=${folder}/`);
  // What the machine imports from packages is what is installed now.
  const packages = resolve(top, 'node_modules');
  if (existsSync(packages)) await symlink(packages, join(folder, 'node_modules'), 'dir');
}

/** The error with the place as it was named, not where the tree was laid out. */
function named({ what, place, mend }: InputError, folder: string, revision: string): InputError {
  const told = (text: string): string => text.replaceAll(`${folder}/`, `${revision}:`);
  const file = place.file === undefined ? {} : { file: told(place.file) };
  return new InputError(told(what), { ...place, ...file }, told(mend));
}
