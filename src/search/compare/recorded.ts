// Recordings followed with both versions: which of them one version explains and the other does not.
import { replayFile } from '../../replay/replay.ts';
import type { SidePair } from '../../replay/conformance.ts';
import type { MachineSet } from '../../replay/session.ts';
import type { SessionProtocol } from '../../protocols/index.ts';
import type { Divergence } from '../../rules/result.ts';
import type { Side } from '../../trace/observation.ts';

export interface RecordedDivergence {
  readonly file: string;
  readonly session: string;
  readonly frame: number | null;
  /** Seconds from the file's epoch. */
  readonly at: number;
  readonly message: string;
  readonly excluded: string;
  readonly allowed: readonly string[];
}

export interface Recorded {
  readonly files: number;
  /** Sessions that speak the protocol. */
  readonly sessions: number;
  /** What only the new version does not explain, and what only the old one did not. */
  readonly nowDiverge: readonly RecordedDivergence[];
  readonly nowExplained: readonly RecordedDivergence[];
}

export interface RecordedOptions {
  readonly paths: readonly string[];
  readonly protocol: SessionProtocol;
  readonly side: Side;
  readonly before: SidePair;
  readonly after: SidePair;
  readonly crashDeadline_ms: number;
}

/** Throws an InputError when a recording cannot be read. */
export async function followRecorded(options: RecordedOptions): Promise<Recorded> {
  const nowDiverge: RecordedDivergence[] = [];
  const nowExplained: RecordedDivergence[] = [];
  let sessions = 0;
  for (const path of options.paths) {
    const before = await divergencesOf(path, options.before, options);
    const after = await divergencesOf(path, options.after, options);
    sessions += after.sessions;
    nowDiverge.push(...missing(after.found, before.found));
    nowExplained.push(...missing(before.found, after.found));
  }
  return { files: options.paths.length, sessions, nowDiverge, nowExplained };
}

async function divergencesOf(
  path: string,
  pair: SidePair,
  { protocol, side, crashDeadline_ms }: RecordedOptions,
): Promise<{ sessions: number; found: RecordedDivergence[] }> {
  const machines: MachineSet = { [protocol]: pair };
  const result = await replayFile(path, { machines, strict: false, crashDeadline_ms, with: [] });
  const spoken = result.sessions.filter((session) => session.protocol === protocol);
  const found = spoken.flatMap(({ id, summary }) =>
    summary.divergences.filter((one) => one.side === side).map((one) => recorded(path, id, one)),
  );
  return { sessions: spoken.length, found };
}

function recorded(file: string, session: string, divergence: Divergence): RecordedDivergence {
  const { frame, at, message, excluded, allowed } = divergence;
  return { file, session, frame, at, message, excluded, allowed };
}

/** Those of `all` at whose moment `others` has none. */
function missing(
  all: readonly RecordedDivergence[],
  others: readonly RecordedDivergence[],
): RecordedDivergence[] {
  const key = ({ session, frame, at, message }: RecordedDivergence): string =>
    `${session} ${frame ?? at} ${message}`;
  const known = new Set(others.map(key));
  return all.filter((one) => !known.has(key(one)));
}
