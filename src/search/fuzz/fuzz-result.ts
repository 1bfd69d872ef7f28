// What a campaign comes to. Text and JSON print it.
import type { Side } from '../../trace/observation.ts';
import type { Plan } from './plan.ts';
import type { ReachTold } from './reach.ts';

export interface FuzzFinding {
  rule: string;
  /** Whom it is charged to. */
  owners: readonly Side[];
  says: string;
  /** Seconds from the start of the session. */
  at: number;
  /** Messages up to it. */
  messages: number;
  /** The run that found it, and plans tried to shrink it. */
  run: number;
  tries: number;
  plan: Plan;
  /** The trace it was written to; null where it was not asked for. */
  trace: string | null;
}

export interface FuzzResult {
  schemaVersion: 1;
  protocol: string;
  verdict: 'broken' | 'nothing found' | 'inconclusive';
  seed: number;
  runs: number;
  messages: number;
  seconds: number;
  stoppedBy: 'runs' | 'time' | 'finding' | 'interrupted';
  /** Sides that are programs: tried, never proved. */
  programs: Side[];
  findings: FuzzFinding[];
  reach: ReachTold;
}
