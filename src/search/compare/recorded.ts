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
  /** Sessions that the old version explained whole and the new one does not: what it does not explain. */
  readonly nowDiverge: readonly RecordedDivergence[];
  /** The other way round. */
  readonly nowExplained: readonly RecordedDivergence[];
  /** Sessions that neither explains, as those of another vehicle: they say nothing of the update. */
  readonly unexplained: number;
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
  let [sessions, unexplained] = [0, 0];
  for (const path of options.paths) {
    const before = await divergencesOf(path, options.before, options);
    const after = await divergencesOf(path, options.after, options);
    sessions += after.size;
    for (const [session, found] of after) {
      const old = before.get(session) ?? [];
      if (old.length > 0 && found.length > 0) unexplained += 1;
      else if (old.length > 0) nowExplained.push(...old);
      else nowDiverge.push(...found);
    }
  }
  return { files: options.paths.length, sessions, nowDiverge, nowExplained, unexplained };
}

/** By session of the protocol: what the side's machine does not explain. */
async function divergencesOf(
  path: string,
  pair: SidePair,
  { protocol, side, crashDeadline_ms }: RecordedOptions,
): Promise<Map<string, RecordedDivergence[]>> {
  const machines: MachineSet = { [protocol]: pair };
  const result = await replayFile(path, { machines, strict: false, crashDeadline_ms, with: [] });
  const spoken = result.sessions.filter((session) => session.protocol === protocol);
  return new Map(
    spoken.map(({ id, summary }) => [
      id,
      summary.divergences.filter((one) => one.side === side).map((one) => recorded(path, id, one)),
    ]),
  );
}

function recorded(file: string, session: string, divergence: Divergence): RecordedDivergence {
  const { frame, at, message, excluded, allowed } = divergence;
  return { file, session, frame, at, message, excluded, allowed };
}
