// A replay as checks: for each session, each rule, and whether the whole could be decided.
import type {
  FileResult,
  Finding,
  Result,
  RuleResult,
  SessionResult,
  WindowLine,
} from '../rules/result.ts';
import type { Check, Checked, Outcome, Problem, Step } from './checks.ts';
import { count, moment } from './figures.ts';

export interface ReplayChecksOptions {
  /** Conformance and suspected findings decide, too. */
  readonly strict: boolean;
  readonly again: string;
}

export function checksOfReplay(
  { verdict, files }: Result,
  { strict, again }: ReplayChecksOptions,
): Checked {
  const sessions = files.reduce((sum, file) => sum + file.sessions.length, 0);
  const checks = files.flatMap((file) => fileChecks(file, strict));
  const says = `${count(files.length, 'recording')}, ${count(sessions, 'session')}: ${verdict}`;
  return {
    command: 'handfast replay',
    verdict,
    says,
    checks,
    again: verdict === 'holds' ? null : again,
  };
}

function fileChecks(file: FileResult, strict: boolean): Check[] {
  const sessions = file.sessions.flatMap((session) => sessionChecks(file.file, session, strict));
  if (file.reasons.length === 0) return sessions;
  const level = file.verdict === 'unreadable' ? 'error' : 'open';
  return [...sessions, undecided(file.file, file.file, 'readable', file.reasons, level)];
}

function sessionChecks(file: string, session: SessionResult, strict: boolean): Check[] {
  const suite = `${file}, session ${session.id}`;
  const checks = session.rules.map((rule) => ruleCheck(file, suite, session, rule, strict));
  if (session.verdict !== 'inconclusive') return checks;
  return [...checks, undecided(file, suite, 'decided', session.reasons, 'open')];
}

function undecided(
  file: string,
  suite: string,
  name: string,
  reasons: readonly string[],
  level: 'error' | 'open',
): Check {
  const says = reasons.join('; ');
  const problem = { rule: name, level, says, file, where: '', identity: [suite, name], steps: [] };
  return { suite, name, outcome: 'undecided', says, problems: [problem] };
}

function ruleCheck(
  file: string,
  suite: string,
  session: SessionResult,
  { rule, verdict, reason, class: kind }: RuleResult,
  strict: boolean,
): Check {
  const decides = strict || kind === 'safety';
  const outcome = OUTCOMES[verdict];
  const told =
    (verdict === 'suspected' && strict) || (verdict === 'broken' && decides) ? 'failed' : outcome;
  const problems = session.findings
    .filter((finding) => finding.rule === rule)
    .map((finding) => problemOf(file, suite, finding, strict));
  const says = told === 'passed' ? '' : `${verdict}: ${reason}`;
  return { suite, name: rule, outcome: told, says, problems };
}

/** `broken` here is a rule that does not decide. */
const OUTCOMES: Record<RuleResult['verdict'], Outcome> = {
  broken: 'skipped',
  suspected: 'skipped',
  holds: 'passed',
  vacuous: 'skipped',
  'not observed': 'skipped',
  inconclusive: 'undecided',
};

function problemOf(file: string, suite: string, finding: Finding, strict: boolean): Problem {
  const { rule, status, owners, frame, at, says, window } = finding;
  const decides = strict || (finding.class === 'safety' && status === 'breach');
  const level = decides ? 'error' : finding.class === 'safety' ? 'warning' : 'note';
  const place = frame === null ? `${at}` : `frame ${frame}`;
  return {
    rule,
    level,
    says,
    file,
    where: moment(frame, at),
    identity: [suite, rule, owners.join(), place],
    steps: window.map(stepOf),
  };
}

function stepOf({ from, name, says, frame, at, here }: WindowLine): Step {
  const what = says === '' ? name : `${name}: ${says}`;
  return { side: from, says: `${moment(frame, at)}: ${what}`, here };
}
