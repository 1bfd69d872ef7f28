// Checks once more, now with the baseline beside them: what it knows already is no news, what drifted fails.
import { resolve } from 'node:path';
import type { Check, Problem } from '../report/checks.ts';
import type { Baseline } from './baseline.ts';
import type { Drift } from './drift.ts';

/** `baseline` is null where there is none yet: then nothing was compared, and that is told. */
export function driftChecks(
  checks: readonly Check[],
  drift: readonly Drift[],
  baseline: Baseline | null,
  folder: string,
): Check[] {
  if (baseline === null) {
    const says = 'there is no baseline yet, so nothing was compared; --update writes it';
    return [...checks, drifted({ suite: 'baseline', name: 'baseline' }, 'undecided', [says], null)];
  }
  const known = checks.map((check) => knownBefore(check, baseline));
  const failing = new Map<string, Drift[]>();
  for (const one of drift) {
    if (one.outcome === 'told' || isTold(known, one)) continue;
    const key = JSON.stringify([one.where, one.check]);
    failing.set(key, [...(failing.get(key) ?? []), one]);
  }
  const replaced = new Set(failing.keys());
  const kept = known.filter(({ suite, name }) => !replaced.has(JSON.stringify([suite, name])));
  const added = [...failing.values()].map((all) => {
    const { where, check } = all[0]!;
    const outcome = all.some((one) => one.outcome === 'failed') ? 'failed' : 'undecided';
    const file = where in baseline.proofs || where.startsWith('proof of ') ? null : where;
    const says = all.map((one) => one.says);
    const place = file === null ? null : resolve(folder, file);
    return drifted({ suite: where, name: check }, outcome, says, place);
  });
  return [...kept, ...added];
}

/** A rule that was vacuous or inconclusive in the baseline is no news; a broken one fails every time. */
function knownBefore(check: Check, { proofs }: Baseline): Check {
  if (check.outcome !== 'undecided') return check;
  const was = proofs[check.suite]?.rules[check.name];
  if (was === undefined || !check.says.startsWith(`${was}:`)) return check;
  return { ...check, outcome: 'skipped', says: `as in the baseline, ${check.says}`, problems: [] };
}

/** A check of its own tells it already: a proof's with the way there, or that of a recording that cannot be read. */
function isTold(checks: readonly Check[], { where, check }: Drift): boolean {
  return checks.some(
    ({ suite, name, outcome }) =>
      suite === where &&
      (name === check || name === 'readable') &&
      (outcome === 'failed' || outcome === 'undecided'),
  );
}

function drifted(
  { suite, name }: Pick<Check, 'suite' | 'name'>,
  outcome: 'failed' | 'undecided',
  all: readonly string[],
  file: string | null,
): Check {
  const level = outcome === 'failed' ? 'error' : 'open';
  const says = all.join('; ');
  const problem: Problem = {
    rule: name,
    level,
    says,
    file,
    where: '',
    identity: [suite, name],
    steps: [],
  };
  return { suite, name, outcome, says, problems: [problem] };
}
