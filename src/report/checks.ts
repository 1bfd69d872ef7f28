// What JUnit, SARIF and Markdown print: a run as a list of checks with what was found in each, whatever command it was.
import type { Side } from '../trace/observation.ts';

/** `undecided` fails a run, too; `skipped`: it does not apply, was not observed, or does not decide. */
export type Outcome = 'passed' | 'failed' | 'undecided' | 'skipped';

export interface Check {
  /** Checks of one suite stand together: a session, a proof. */
  readonly suite: string;
  /** Usually a rule. */
  readonly name: string;
  readonly outcome: Outcome;
  /** One sentence; empty for what passed and needs none. */
  readonly says: string;
  readonly problems: readonly Problem[];
}

export interface Problem {
  readonly rule: string;
  /** `note`: told, and does not decide. `open`: could not be decided. */
  readonly level: 'error' | 'warning' | 'note' | 'open';
  readonly says: string;
  /** The recording or machine it was found in; null for none of the user's files. */
  readonly file: string | null;
  /** Where in it: `frame 63 (8.616 s)`; empty for the whole of it. */
  readonly where: string;
  /** What makes it the same problem in the next run. */
  readonly identity: readonly string[];
  /** The way to it, in order; empty for none. */
  readonly steps: readonly Step[];
}

export interface Step {
  /** Null for what neither side does: time, the link, faults. */
  readonly side: Side | null;
  readonly says: string;
  /** The step the problem is about. */
  readonly here: boolean;
}

export interface Checked {
  /** `handfast replay`, as the suites' common name. */
  readonly command: string;
  readonly verdict: string;
  /** One sentence for people. */
  readonly says: string;
  readonly checks: readonly Check[];
  /** The command that shows it again; null for none. */
  readonly again: string | null;
}

export function countOf({ checks }: Pick<Checked, 'checks'>, outcome: Outcome): number {
  return checks.filter((check) => check.outcome === outcome).length;
}
