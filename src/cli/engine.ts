// What the command line hands to the replay: the bundled machines. No other part of src names them.
import type { Timeline } from '../report/timeline/timeline.ts';
import type { FileResult, SessionResult } from '../rules/result.ts';

export interface ReplaySettings {
  strict: boolean;
  with: { path: string; offset_ns: number }[];
  crashDeadline_ms: number;
  /** Record what a report shows beside the result. */
  timelines: boolean;
}

/** Called as each session ends, with the wall-clock time of second 0, and its timeline where that was asked for. */
export type OnSession = (
  session: SessionResult,
  epoch: string | null,
  timeline: Timeline | null,
) => void;

/** What `replay` runs; tests hand in their own. */
export interface Engine {
  /** Whether a file that begins so is a capture or a trace. */
  isInput(firstBytes: Uint8Array): boolean;
  /** Throws InputError when the file cannot be read. */
  replay(path: string, settings: ReplaySettings, onSession: OnSession): Promise<FileResult>;
  /** May files be replayed in worker threads (which load the bundled engine)? */
  readonly inWorkers: boolean;
}
