// `handfast compare`: what does an update change?
import type { SideMachine } from '../machine/convention.ts';
import type { SessionProtocol } from '../protocols/index.ts';
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
