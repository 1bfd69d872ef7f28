// What `handfast prove` may be told.
import type { SessionProtocol } from '../protocols/index.ts';
import type { CheckFiles } from './check-files.ts';
import type { CommonOptions } from './io.ts';

/** Faults a run may have unless told otherwise. */
export const DEFAULT_FAULTS = 1;

/** Where a search stops unless told otherwise: states, megabytes, seconds. */
export const PROVE_LIMITS = { states: 50_000_000, memory: 2048, time: 600 } as const;

export interface ProveCommandOptions extends CommonOptions, CheckFiles {
  protocol: SessionProtocol;
  vehicle?: string;
  charger?: string;
  faults: number;
  /** Judge this side alone. */
  alone?: 'vehicle' | 'charger';
  /** Search whether a safe end stays within reach, too. */
  safeEnd?: boolean;
  states: number;
  memory: number;
  time: number;
  untimed?: boolean;
  promela?: string;
  /** The folder for counterexamples as traces. */
  traces?: string;
  /** Write an HTML report to this file. */
  html?: string;
}
