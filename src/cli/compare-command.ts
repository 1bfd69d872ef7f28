// `handfast compare`: what does an update change?
import { readFile, stat } from 'node:fs/promises';
import type { SideMachine } from '../machine/convention.ts';
import type { SessionProtocol } from '../protocols/index.ts';
import { readParameters, type ParameterSet } from '../search/parameters/parameter-file.ts';
import { InputError } from '../trace/input-error.ts';
import { json } from '../report/json.ts';
import { lookOf } from '../report/look.ts';
import { compareText } from '../report/text-compare.ts';
import { compareMachines, type Comparison } from '../search/compare/compare.ts';
import type { Side } from '../trace/observation.ts';
import { bundledEngine, machinesOf } from './bundled-engine.ts';
import { UsageError } from './errors.ts';
import { EXIT } from './exit.ts';
import { findCaptures } from './find-captures.ts';
import { wantsColor, widthOf, type CommonOptions, type Io } from './io.ts';
import { CRASH_DEADLINE_ms } from './replay-options.ts';
import { atRevision } from './revision.ts';

export interface CompareCommandOptions extends CommonOptions {
  side?: Side;
  protocol?: SessionProtocol;
  peer?: string;
  traces?: string[];
  faults: number;
  states: number;
  memory: number;
  time: number;
}

/** The word that stands for the bundled machine of --protocol and --side. */
const BUNDLED = 'bundled';

export async function compareCommand(
  [before, after]: readonly [string, string],
  options: CompareCommandOptions,
  io: Io,
): Promise<number> {
  const sets = { before: await parametersAt(before), after: await parametersAt(after) };
  if (sets.before !== null && sets.after !== null) {
    return compareSets(sets.before, sets.after, { names: [before, after], options, io });
  }
  if (sets.before !== null || sets.after !== null) {
    throw new UsageError('one of them is a parameter file, the other is not: give two of a kind');
  }
  const machines = {
    before: await machineAt(before, options),
    after: await machineAt(after, options),
  };
  const watched = io.stderr.isTTY && options.quiet !== true;
  const result = await compareMachines({
    ...machines,
    peer: await peerOf(machines.after, options),
    traces: await recordings(options.traces ?? []),
    crashDeadline_ms: CRASH_DEADLINE_ms,
    search: {
      faults: options.faults,
      limits: {
        states: options.states,
        memory_bytes: options.memory * 2 ** 20,
        time_s: options.time,
      },
      signal: io.interrupted,
      onProgress: ({ states, depth }) => {
        if (watched) void io.stderr.write(`\r${states} states, depth ${depth} `);
      },
    },
  });
  if (watched) await io.stderr.write('\r\u001b[K');
  const look = lookOf(widthOf(io.stdout, options), wantsColor(io.stdout, options, io.env));
  const quiet = options.quiet ?? false;
  await io.stdout.write(
    options.json === true ? json(result) : compareText(result, look, { before, after, quiet }),
  );
  return io.interrupted.aborted ? EXIT.interrupted : CODES[result.verdict];
}

const CODES: Record<Comparison['verdict'], number> = {
  equivalent: EXIT.holds,
  safe: EXIT.holds,
  unsafe: EXIT.broken,
  inconclusive: EXIT.inconclusive,
};

/** Null where the name is that of no parameter file: YAML, or JSON that says so. */
async function parametersAt(name: string): Promise<ParameterSet | null> {
  const yaml = /\.ya?ml$/i.test(name);
  if (!yaml && !/\.json$/i.test(name)) return null;
  return atRevision(name, async (path) => {
    const text = await textOf(path, name);
    return yaml || text.slice(0, 200).includes('"parameters"') ? readParameters(text, path) : null;
  });
}

async function textOf(path: string, name: string): Promise<string> {
  const found = await stat(path).catch(() => null);
  const mend = 'give the path of a machine or a parameter file';
  if (found?.isFile() !== true) throw new InputError('there is no such file', { file: name }, mend);
  // A parameter file is a page; a table of a machine may be large, and says what it is at its beginning.
  return found.size > 1_000_000 ? '' : readFile(path, 'utf8');
}

async function compareSets(
  before: ParameterSet,
  after: ParameterSet,
  { names, options, io }: { names: [string, string]; options: CompareCommandOptions; io: Io },
): Promise<number> {
  const { compareParameters } = await import('../search/parameters/compare-parameters.ts');
  const { parametersText } = await import('../report/text-parameters.ts');
  const result = compareParameters(before, after);
  const look = lookOf(widthOf(io.stdout, options), wantsColor(io.stdout, options, io.env));
  const [old, now] = names;
  const quiet = options.quiet ?? false;
  await io.stdout.write(
    options.json === true
      ? json(result)
      : parametersText(result, look, { before: old, after: now, quiet }),
  );
  return CODES[result.verdict];
}

async function machineAt(
  name: string,
  { side, protocol }: CompareCommandOptions,
): Promise<SideMachine> {
  if (name === BUNDLED) {
    if (side !== undefined && protocol !== undefined) return (await machinesOf(protocol))[side];
    throw new UsageError('say with --protocol and --side which bundled machine is meant');
  }
  const { loadMachine } = await import('../machine/load.ts');
  return atRevision(name, (path) => loadMachine(path, side));
}

async function peerOf(
  { side, protocol }: SideMachine,
  { peer }: CompareCommandOptions,
): Promise<SideMachine> {
  const other = side === 'vehicle' ? 'charger' : 'vehicle';
  if (peer !== undefined) {
    const { loadMachine } = await import('../machine/load.ts');
    return atRevision(peer, (path) => loadMachine(path, other));
  }
  if (protocol !== 'din70121' && protocol !== 'iso15118-2') {
    throw new UsageError(`no bundled machine speaks ${protocol}; give a --peer`);
  }
  return (await machinesOf(protocol))[other];
}

/** Throws a UsageError for a path without recordings: a comparison with half of them says too much. */
async function recordings(paths: string[]): Promise<string[]> {
  const entries = await findCaptures(paths, (bytes) => bundledEngine.isInput(bytes));
  const bad = entries.find(({ reason }) => reason !== undefined);
  if (bad !== undefined) throw new UsageError(`--traces ${bad.reason}`);
  return entries.map(({ path }) => path);
}
