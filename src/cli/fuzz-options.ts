// What `handfast fuzz` may be told.
import type { SessionProtocol } from '../protocols/index.ts';
import type { CommonOptions } from './io.ts';

/** Sessions of a campaign unless told otherwise. */
export const FUZZ_RUNS = 2000;

export interface FuzzCommandOptions extends CommonOptions {
  protocol?: SessionProtocol;
  /** A machine's file, or `exec:` and a command. */
  vehicle?: string;
  charger?: string;
  runs: number;
  time?: number;
  seed?: number;
  workers?: number;
  save?: string;
  replay?: string;
  /** Write an HTML report to this file. */
  html?: string;
}
