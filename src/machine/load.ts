// Loads somebody's own machine by path: TypeScript or JavaScript, from anywhere, or a table. A module's types are not
// checked here, only stripped; what it exports is checked for what a machine must be.
import { readFile, stat } from 'node:fs/promises';
import { dirname, extname, resolve } from 'node:path';
import { InputError, type InputPlace } from '../trace/input-error.ts';
import type { Side } from '../trace/observation.ts';
import { checkMachine } from './check.ts';
import type { SideMachine } from './convention.ts';
import { checkShape } from './load-shape.ts';

const MODULES: readonly string[] = ['.ts', '.mts', '.cts', '.js', '.mjs', '.cjs'];

const MAXIMUM_TABLE_BYTES = 64 * 1024 * 1024;

/**
 * The machine a file exports (`vehicle`, `charger` or default), or the one its table describes. Throws an InputError
 * with file, line and the mend when there is none that can be used; `side` says which side it must be.
 */
export async function loadMachine(path: string, side?: Side): Promise<SideMachine> {
  const kind = extname(path).toLowerCase();
  const module = MODULES.includes(kind);
  if (!module && kind !== '.json') {
    throw new InputError(
      `a machine cannot be read from ${kind === '' ? 'a file without extension' : kind}`,
      { file: path },
      `give a module (${MODULES.join(', ')}) or a table (.json)`,
    );
  }
  const size = await sizeOf(path);
  const machine = module ? await fromModule(path, side) : await fromTable(path, size);
  if (side !== undefined && machine.side !== side) {
    const mend = `give it as --${machine.side}, or a machine whose side is ${side}`;
    throw new InputError(`this machine is a ${machine.side}, not a ${side}`, { file: path }, mend);
  }
  return machine;
}

async function sizeOf(path: string): Promise<number> {
  const found = await stat(path).catch(() => null);
  if (found?.isFile() === true) return found.size;
  throw new InputError(
    found === null ? 'there is no such file' : 'is not a file',
    { file: path },
    'give the path of a machine',
  );
}

async function fromTable(path: string, size: number): Promise<SideMachine> {
  if (size > MAXIMUM_TABLE_BYTES) {
    const mend = 'a machine of 20000 states fits easily; is this the right file?';
    throw new InputError(`is larger than ${MAXIMUM_TABLE_BYTES} bytes`, { file: path }, mend);
  }
  const text = await readFile(path, 'utf8');
  const { readTable } = await import('./table-read.ts');
  return readTable(parse(text, path), path);
}

function parse(text: string, path: string): unknown {
  try {
    return JSON.parse(text);
  } catch (error) {
    const { message } = error as SyntaxError;
    const position = /position (\d+)/.exec(message)?.[1];
    const before = text.slice(0, position === undefined ? text.length : Number(position));
    const place = { file: path, line: before.split('\n').length };
    // V8 repeats part of the text in its message; the line says enough.
    const what = message.replace(/,? ?(\.{3})?".*$|in JSON at.*$/s, '').trim();
    throw new InputError(`is not JSON: ${what}`, place, 'see handfast/schema/machine-table.json');
  }
}

async function fromModule(path: string, side: Side | undefined): Promise<SideMachine> {
  const machine = pick(await importModule(path), path, side);
  const shape = checkShape(machine);
  if (shape !== null) throw new InputError(shape.what, { file: path }, shape.mend);
  const checked = machine as SideMachine;
  const problems = checkMachine(checked);
  const last = problems.pop();
  if (last === undefined) return checked;
  const before = problems.map(({ what, mend }) => `${what} (${mend}); `).join('');
  throw new InputError(
    `machine ${checked.machine.id}: ${before}${last.what}`,
    { file: path },
    last.mend,
  );
}

/** What a module exports; it may stand anywhere, and import `handfast`. Throws an InputError where it fails. */
export async function importModule(path: string): Promise<Record<string, unknown>> {
  const [{ createJiti }, handfast, xstate] = await Promise.all([
    import('jiti'),
    import('../index.ts'),
    import('xstate'),
  ]);
  // The file may stand anywhere: these two always mean this package and the copy of XState it steps machines with.
  const virtualModules = { handfast, xstate };
  const jiti = createJiti(import.meta.url, {
    fsCache: false,
    interopDefault: false,
    virtualModules,
  });
  try {
    return Object(await jiti.import(resolve(path))) as Record<string, unknown>;
  } catch (error) {
    throw explain(error, path);
  }
}

const OWN = dirname(import.meta.dirname);

/** What a module failed with, told with the line of the user's own that did it. */
function explain(error: unknown, path: string): InputError {
  if (!(error instanceof Error)) {
    return new InputError(
      `throws ${String(error)}`,
      { file: path },
      'see what it does when loaded',
    );
  }
  const place = { file: path, ...placeOf(error, path) };
  if (error instanceof InputError) return error.at(place);
  const [first = ''] = error.message.split('\n');
  // Imported names are called through their module in compiled code.
  const what = first.replace(/\(0 , \w+\.(\w+)\)/g, '$1').trim();
  if (first.startsWith('ParseError')) {
    return new InputError(what.replace('ParseError: ', ''), place, 'the file does not compile');
  }
  return new InputError(`fails while it is loaded: ${what}`, place, 'mend what stands there');
}

/** The innermost line that is neither this package's nor a dependency's. */
function placeOf({ stack = '' }: Error, path: string): InputPlace {
  for (const line of stack.split('\n')) {
    const [, file, number] =
      /(?:^|[\s(])(?:file:\/\/)?((?:\/|[A-Z]:\\)[^():]+):(\d+):\d+\)?$/.exec(line) ?? [];
    if (file === undefined || file.includes('node_modules') || file.startsWith(OWN)) continue;
    return { file: file === resolve(path) ? path : file, line: Number(number) };
  }
  return {};
}

function pick(module: Record<string, unknown>, path: string, side: Side | undefined): unknown {
  const named = (['vehicle', 'charger'] as const).filter((name) => module[name] !== undefined);
  if (side !== undefined && named.includes(side)) return module[side];
  if (named.length === 1) return module[named[0]!];
  if (named.length === 2) {
    throw new InputError('exports both a vehicle and a charger', { file: path }, 'say which');
  }
  // A module of Node's older kind is what it exports.
  const exported = '__esModule' in module ? module.default : module;
  if (exported !== undefined) return exported;
  throw new InputError(
    'exports no machine',
    { file: path },
    'export one as `vehicle`, `charger` or default: export const vehicle = createSideMachine({ … })',
  );
}
