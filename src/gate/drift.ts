// What is different from the baseline, in words, and whether it fails the gate.
import type {
  Baseline,
  CoverageRecord,
  ProofRecord,
  SessionRecord,
  TraceRecord,
} from './baseline.ts';

/** `told`: worth knowing, and no failure. */
export interface Drift {
  readonly outcome: 'failed' | 'undecided' | 'told';
  /** The name of a proof, or the path of a recording. */
  readonly where: string;
  /** A rule, `coverage`, `replay`, `margin of …`. */
  readonly check: string;
  readonly says: string;
}

type Found = Omit<Drift, 'where'>;

export function driftBetween(before: Baseline, now: Baseline, marginShrink: number): Drift[] {
  return [
    ...pairs(before.proofs, now.proofs, 'proof', proofDrift),
    ...pairs(before.traces, now.traces, 'replay', (old, current) =>
      traceDrift(old, current, marginShrink),
    ),
  ];
}

function pairs<T>(
  before: { readonly [name: string]: T },
  now: { readonly [name: string]: T },
  check: string,
  drift: (before: T, now: T) => Found[],
): Drift[] {
  const found: Drift[] = [];
  for (const where of new Set([...Object.keys(before), ...Object.keys(now)])) {
    const [old, current] = [before[where], now[where]];
    if (old === undefined) {
      const says = 'not in the baseline yet; --update puts it there';
      found.push({ outcome: 'undecided', where, check, says });
    } else if (current === undefined) {
      found.push({ outcome: 'failed', where, check, says: 'in the baseline, and not judged now' });
    } else {
      found.push(...drift(old, current).map((one) => ({ ...one, where })));
    }
  }
  return found;
}

/** How bad a verdict of a rule is: going up fails. */
const WEIGHT: { readonly [verdict: string]: number } = { broken: 2, inconclusive: 1, vacuous: 1 };

function proofDrift(before: ProofRecord, now: ProofRecord): Found[] {
  const found: Found[] = [];
  for (const [check, verdict] of Object.entries(now.rules)) {
    const was = before.rules[check] ?? 'not proved';
    if (was === verdict) continue;
    const says = `${was} → ${verdict}`;
    const worse = (WEIGHT[verdict] ?? 0) > (WEIGHT[was] ?? 0) || verdict === 'not modelled';
    const outcome = !worse ? 'told' : verdict === 'broken' ? 'failed' : 'undecided';
    found.push({ outcome, check, says });
  }
  for (const rule of Object.keys(before.rules)) {
    if (rule in now.rules) continue;
    found.push({
      outcome: 'failed',
      check: rule,
      says: `${before.rules[rule]} → no longer judged`,
    });
  }
  for (const side of ['vehicle', 'charger'] as const) {
    found.push(...coverageDrift(side, before.coverage[side], now.coverage[side]));
  }
  for (const what of ['states', 'transitions', 'depth'] as const) {
    if (before[what] === now[what]) continue;
    found.push({ outcome: 'told', check: what, says: `${before[what]} → ${now[what]}` });
  }
  return found;
}

function coverageDrift(side: string, before: CoverageRecord, now: CoverageRecord): Found[] {
  return (['states', 'transitions'] as const).flatMap((what): Found[] => {
    const [old, current] = [before[what], now[what]];
    const lost = current.missed.filter((one) => !old.missed.includes(one));
    const won = old.missed.filter((one) => !current.missed.includes(one));
    const found: Found[] = [];
    if (lost.length > 0) {
      const says = `no run takes these ${what} of the ${side} any more: ${lost.join('; ')}`;
      found.push({ outcome: 'failed', check: 'coverage', says });
    }
    if (won.length > 0) {
      const says = `no longer among the ${what} of the ${side} that no run takes: ${won.join('; ')}`;
      found.push({ outcome: 'told', check: 'coverage', says });
    }
    if (old.total !== current.total) {
      const says = `${what} of the ${side}: ${old.total} → ${current.total}`;
      found.push({ outcome: 'told', check: 'coverage', says });
    }
    return found;
  });
}

function traceDrift(before: TraceRecord, now: TraceRecord, marginShrink: number): Found[] {
  const found: Found[] = [];
  if (before.verdict !== now.verdict) found.push(replayed(`${before.verdict} → ${now.verdict}`));
  for (const id of new Set([...Object.keys(before.sessions), ...Object.keys(now.sessions)])) {
    const [old, current] = [before.sessions[id], now.sessions[id]];
    if (old === undefined) found.push(replayed(`session ${id} is new`));
    else if (current === undefined) found.push(replayed(`session ${id} is gone`));
    else found.push(...sessionDrift(id, old, current, marginShrink));
  }
  return found;
}

const replayed = (says: string): Found => ({ outcome: 'failed', check: 'replay', says });

function sessionDrift(
  id: string,
  before: SessionRecord,
  now: SessionRecord,
  marginShrink: number,
): Found[] {
  const found: Found[] = [];
  if (before.verdict !== now.verdict) {
    found.push(replayed(`session ${id}: ${before.verdict} → ${now.verdict}`));
  }
  for (const rule of new Set([...Object.keys(before.rules), ...Object.keys(now.rules)])) {
    const [was, is] = [before.rules[rule] ?? 'not judged', now.rules[rule] ?? 'not judged'];
    if (was !== is) found.push(replayed(`session ${id}, ${rule}: ${was} → ${is}`));
  }
  for (const one of now.divergences) {
    if (!before.divergences.includes(one)) found.push(replayed(`session ${id} diverges: ${one}`));
  }
  for (const one of before.divergences) {
    if (now.divergences.includes(one)) continue;
    found.push(replayed(`session ${id} no longer diverges: ${one}`));
  }
  return [...found, ...marginDrift(id, before, now, marginShrink)];
}

/** Of a share of a limit, in binary fractions. */
const ROUNDING = 1e-9;

function marginDrift(
  id: string,
  { margins: before }: SessionRecord,
  { margins: now }: SessionRecord,
  marginShrink: number,
): Found[] {
  return Object.entries(now).flatMap(([rule, { value, limit, unit }]): Found[] => {
    const old = before[rule];
    if (old === undefined) return [];
    const closer = value / limit - old.value / old.limit;
    if (Math.abs(closer) < ROUNDING) return [];
    const check = `margin of ${rule}`;
    const says = `session ${id}: ${old.value} of ${old.limit} ${old.unit} → ${value} of ${limit} ${unit}`;
    return [{ outcome: closer > marginShrink + ROUNDING ? 'failed' : 'told', check, says }];
  });
}
