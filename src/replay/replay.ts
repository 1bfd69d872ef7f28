// A recording in, its result out.
import type { FileResult, SessionResult, Verdict } from '../rules/result.ts';
import type { CellLimits } from '../facts/observed.ts';
import type { Observation, OpenTrace } from '../trace/observation.ts';
import type { SessionProtocol } from '../protocols/index.ts';
import type { SidePair } from './conformance.ts';
import type { MachineSet } from './session.ts';
import { worstVerdict } from '../rules/verdicts.ts';
import { openFile, type Beside } from './open.ts';
import type { Watcher } from './watch.ts';
import { Sessions } from './sessions.ts';

export interface ReplayOptions {
  /**
   * Both sides of a protocol, asked for when its first message comes; or those there are. A protocol without machines
   * is judged by the safety rules alone.
   */
  machines: MachineSet | ((protocol: SessionProtocol) => Promise<SidePair>);
  /** Conformance and suspected findings decide too. */
  strict: boolean;
  /** A crash signal must open the pack within this. */
  crashDeadline_ms: number;
  /** Limits of the pack's cells; null when not known. */
  cells?: CellLimits | null;
  /** Called as each session ends. */
  onSession?: (session: SessionResult) => void;
  /** Is shown every step of every session. */
  watcher?: Watcher | undefined;
}

/** Replays one recording; `name` is how it is told. Throws InputError when it cannot be read on. */
export async function replayTrace(
  trace: OpenTrace,
  name: string,
  options: ReplayOptions,
): Promise<FileResult> {
  const machines = typeof options.machines === 'function' ? {} : options.machines;
  const sessions = new Sessions({
    machines,
    strict: options.strict,
    crashDeadline_ns: Math.round(options.crashDeadline_ms * 1e6),
    cells: options.cells ?? trace.header.cells ?? null,
    onSession: options.onSession ?? (() => {}),
    watcher: options.watcher,
  });
  for await (const batch of trace.observations) {
    if (typeof options.machines === 'function') await load(machines, batch, options.machines);
    for (const observation of batch) sessions.take(observation);
  }
  sessions.finish();
  const { results } = sessions;
  const reasons = [...sessions.problems];
  if (results.length === 0) reasons.push('no session of System C was found in it');
  return {
    file: name,
    epoch: trace.header.epoch,
    verdict: fileVerdict(results, reasons.length > 0),
    reasons,
    sessions: results,
  };
}

/** Loads the machines of every protocol a batch speaks, once. */
async function load(
  machines: MachineSet,
  batch: readonly Observation[],
  loadPair: (protocol: SessionProtocol) => Promise<SidePair>,
): Promise<void> {
  for (const one of batch) {
    if (one.kind !== 'message') continue;
    const { protocol } = one;
    if (protocol !== 'din70121' && protocol !== 'iso15118-2') continue;
    machines[protocol] ??= await loadPair(protocol);
  }
}

/** Replays a file, with what other recorders saw of it. Throws InputError when a file cannot be read. */
export async function replayFile(
  path: string,
  options: ReplayOptions & { with: Beside[] },
): Promise<FileResult> {
  return replayTrace(await openFile(path, options.with), path, options);
}

function fileVerdict(sessions: SessionResult[], hasProblems: boolean): Verdict {
  const worst = worstVerdict(sessions);
  // What is missing from a recording may hide anything.
  return worst === 'holds' && hasProblems ? 'inconclusive' : worst;
}
