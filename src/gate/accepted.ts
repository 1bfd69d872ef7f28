// Findings that are known: they do not fail a gate until their day is over, and an exception whose day is over does.
import type { Check } from '../report/checks.ts';
import type { Accepted } from './project.ts';

export interface AcceptedChecks {
  readonly checks: Check[];
  /** Exceptions that nothing needs any more, in words. */
  readonly idle: string[];
}

/** `today` is a date in UTC, `2026-11-25`; the last day itself still counts. */
export function withAccepted(
  checks: readonly Check[],
  accepted: readonly Accepted[],
  today: string,
): AcceptedChecks {
  const live = accepted.filter(({ until }) => until >= today);
  const used = new Set<Accepted>();
  const judged = checks.map((check) => {
    if (check.outcome !== 'failed' && check.outcome !== 'undecided') return check;
    const exception = live.find((one) => fits(one, check));
    if (exception === undefined) return check;
    used.add(exception);
    const { until, reason } = exception;
    const problems = check.problems.map((problem) => ({ ...problem, level: 'note' as const }));
    const says = `accepted until ${until} (${reason}): ${check.says}`;
    return { ...check, outcome: 'skipped' as const, says, problems };
  });
  const expired = accepted.filter(({ until }) => until < today).map(expiredCheck);
  const idle = live.filter((one) => !used.has(one)).map((one) => `${words(one)}: not needed now`);
  return { checks: [...judged, ...expired], idle };
}

function fits({ check, in: where }: Accepted, { name, suite }: Check): boolean {
  if (check !== name) return false;
  return where === undefined || suite === where || suite.startsWith(`proof of ${where},`);
}

function expiredCheck(accepted: Accepted): Check {
  const suite = 'accepted findings';
  const says = `${words(accepted)}: its day was ${accepted.until} (${accepted.reason})`;
  const identity = [suite, accepted.check, accepted.in ?? '', accepted.until];
  const problem = { rule: 'accepted', level: 'error' as const, says, file: null, where: '' };
  const problems = [{ ...problem, identity, steps: [] }];
  return { suite, name: accepted.check, outcome: 'failed', says, problems };
}

const words = ({ check, in: where }: Accepted): string =>
  `the exception for ${check}${where === undefined ? '' : ` in ${where}`}`;
