// The baseline: what a gate came to when somebody last said that it is right, kept in the repository. Only what is the
// same on every machine is in it: no times, no paths outside the project.
import type { FileResult, SessionResult } from '../rules/result.ts';
import type { Coverage, Covered } from '../search/prove/coverage.ts';
import type { ProveResult } from '../search/prove/prove-result.ts';
import { readSettings, type SettingsKind } from '../trace/settings.ts';

export interface Baseline {
  handfast: 'baseline';
  version: 1;
  proofs: { [name: string]: ProofRecord };
  traces: { [path: string]: TraceRecord };
}

export interface ProofRecord {
  verdict: string;
  rules: { [rule: string]: string };
  states: number;
  transitions: number;
  depth: number;
  coverage: { vehicle: CoverageRecord; charger: CoverageRecord };
}

export interface CoverageRecord {
  states: CoveredRecord;
  transitions: CoveredRecord;
}

interface CoveredRecord {
  reached: number;
  total: number;
  /** In words. */
  missed: string[];
}

export interface TraceRecord {
  verdict: string;
  sessions: { [id: string]: SessionRecord };
}

export interface SessionRecord {
  verdict: string;
  rules: { [rule: string]: string };
  margins: { [rule: string]: MarginRecord };
  /** `vehicle, frame 63, PowerDeliveryReq: order`. */
  divergences: string[];
}

interface MarginRecord {
  value: number;
  limit: number;
  unit: string;
}

const BASELINE: SettingsKind = {
  name: 'the baseline',
  schema: async () =>
    (await import('./baseline.schema.json', { with: { type: 'json' } })).default as object,
  published: 'handfast/schema/baseline.json, or write it anew with --update',
};

export async function readBaseline(text: string, file: string): Promise<Baseline> {
  return (await readSettings(text, file, BASELINE)) as Baseline;
}

export function proofRecord(result: ProveResult): ProofRecord {
  const { verdict, rules, states, transitions, depth, coverage } = result;
  return {
    verdict,
    rules: Object.fromEntries(rules.map((proof) => [proof.rule, proof.verdict])),
    states,
    transitions,
    depth,
    coverage: {
      vehicle: coverageRecord(coverage.vehicle),
      charger: coverageRecord(coverage.charger),
    },
  };
}

function coverageRecord({ states, transitions }: Coverage): CoverageRecord {
  return { states: coveredRecord(states), transitions: coveredRecord(transitions) };
}

function coveredRecord({ reached, total, missed }: Covered): CoveredRecord {
  return { reached, total, missed: [...missed] };
}

export function traceRecord({ verdict, sessions }: FileResult): TraceRecord {
  return {
    verdict,
    sessions: Object.fromEntries(sessions.map((session) => [session.id, sessionRecord(session)])),
  };
}

function sessionRecord({ verdict, rules, summary }: SessionResult): SessionRecord {
  const margins = rules.flatMap(({ rule, margin }) => {
    if (margin === null) return [];
    const { value, limit, unit } = margin;
    return [[rule, { value, limit, unit }] as const];
  });
  return {
    verdict,
    rules: Object.fromEntries(rules.map((result) => [result.rule, result.verdict])),
    margins: Object.fromEntries(margins),
    divergences: summary.divergences.map(
      ({ side, frame, at, message, because }) =>
        `${side}, ${frame === null ? `${at} s` : `frame ${frame}`}, ${message}: ${because}`,
    ),
  };
}
