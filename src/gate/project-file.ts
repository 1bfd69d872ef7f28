// Finds and reads a project file: TypeScript or JavaScript by its default export, JSON or YAML by its text.
import { readFile } from 'node:fs/promises';
import { existsSync } from 'node:fs';
import { extname, join } from 'node:path';
import { importModule } from '../machine/load.ts';
import { InputError } from '../trace/input-error.ts';
import { checkSettings, readSettings, type SettingsKind } from '../trace/settings.ts';
import type { Project } from './project.ts';

const PROJECT: SettingsKind = {
  name: 'the project',
  schema: async () =>
    (await import('./project.schema.json', { with: { type: 'json' } })).default as object,
  published: 'handfast/schema/project.json',
};

const MODULES = ['.ts', '.mts', '.js', '.mjs'];
const TEXTS = ['.json', '.yaml', '.yml'];
const STEM = 'handfast.project';

/** The project file of a folder. Throws an InputError when there is none, or more than one. */
export function findProject(folder: string): string {
  const found = [...MODULES, ...TEXTS]
    .map((extension) => join(folder, `${STEM}${extension}`))
    .filter((path) => existsSync(path));
  const [first] = found;
  if (first === undefined) {
    const mend = `write ${STEM}.json or ${STEM}.ts, or name one with --project`;
    throw new InputError('there is no project file here', {}, mend);
  }
  if (found.length > 1) {
    throw new InputError(`there are ${found.join(' and ')}`, {}, 'keep one of them');
  }
  return first;
}

/** Throws an InputError with file, line (of a text) or path of the property (of a module), and the mend. */
export async function readProject(path: string): Promise<Project> {
  const kind = extname(path).toLowerCase();
  if (TEXTS.includes(kind)) {
    return (await readSettings(await textOf(path), path, PROJECT)) as Project;
  }
  if (!MODULES.includes(kind)) {
    const mend = `give ${[...MODULES, ...TEXTS].join(', ')}`;
    throw new InputError(`a project cannot be read from ${kind || 'it'}`, { file: path }, mend);
  }
  await textOf(path);
  const project = (await importModule(path)).default;
  if (typeof project !== 'object' || project === null) {
    const mend = 'write: export default defineProject({ name: … })';
    throw new InputError('has no project as its default export', { file: path }, mend);
  }
  await checkSettings(project, path, PROJECT);
  return project as Project;
}

async function textOf(path: string): Promise<string> {
  try {
    return await readFile(path, 'utf8');
  } catch {
    throw new InputError('cannot be read', { file: path }, 'give the path of a project file');
  }
}
