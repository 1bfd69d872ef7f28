import type { CheckFiles } from './check-files.ts';
import type { CommonOptions } from './io.ts';

export interface ReplayOptions extends CommonOptions, CheckFiles {
  jsonl?: boolean;
  strict?: boolean;
  /** Other recordings of the session, each with its offset; null where none was given. */
  with: { path: string; offset_ns: number | null }[];
  jobs?: number;
  /** Milliseconds. */
  crashDeadline: number;
  /** Write an HTML report to this file. */
  html?: string;
}

/** How long a crash signal leaves to open the pack: this project's own choice, no standard's. */
export const CRASH_DEADLINE_ms = 100;
