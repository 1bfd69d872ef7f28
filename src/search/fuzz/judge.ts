// A recording judged: by the same sessions, facts and rules as a replay, each side by the recorder beside it.
import type { Extractor } from '../../facts/extract.ts';
import { Sessions } from '../../replay/sessions.ts';
import type { SessionWatcher, Watcher } from '../../replay/watch.ts';
import type { Finding } from '../../rules/result.ts';
import type { Observation, Side } from '../../trace/observation.ts';
import { FACTS, factNumbers } from './fact-values.ts';
import { CELL_LIMIT_V } from './ordinary.ts';
import type { Plan } from './plan.ts';
import type { Played } from './session.ts';

/** A breach of a safety rule that is charged to somebody who could have kept it. */
export interface Charge {
  readonly rule: string;
  /** Whom it is charged to: owners that are no liars. */
  readonly owners: readonly Side[];
  readonly says: string;
  readonly at: number;
  /** Whose recorder saw it. */
  readonly seenBy: Side;
  /** Messages up to it. */
  readonly messages: number;
}

const CRASH_DEADLINE_ns = 100_000_000;

/** Told of the number of each fact value a step has. */
export type OnFact = (number: number) => void;

export function judge(plan: Plan, played: Played, onFact: OnFact): readonly Charge[] {
  const charges: Charge[] = [];
  const both = played.vehicle === played.charger;
  const recorders: readonly Side[] = both ? ['vehicle'] : ['vehicle', 'charger'];
  for (const seenBy of recorders) {
    const may = (side: Side): boolean => side !== plan.liar && (both || side === seenBy);
    if (!both && !may(seenBy)) continue;
    for (const findings of findingsOf(played[seenBy], onFact)) {
      charges.push(...charged(findings, seenBy, may, played[seenBy]));
    }
  }
  return charges;
}

function findingsOf(observations: readonly Observation[], onFact: OnFact): Finding[][] {
  const found: Finding[][] = [];
  const sessions = new Sessions({
    machines: {},
    strict: false,
    crashDeadline_ns: CRASH_DEADLINE_ns,
    cells: { highest_V: CELL_LIMIT_V },
    onSession: ({ findings }) => {
      if (findings.length > 0) found.push(findings);
    },
    watcher: factWatcher(onFact),
  });
  for (const observation of observations) sessions.take(observation);
  sessions.finish();
  return found;
}

function factWatcher(onFact: OnFact): Watcher {
  const session: SessionWatcher = {
    step: (_observation, _reading, { facts }: Extractor) => {
      for (let i = 0; i < FACTS.length; i += 1) {
        const number = factNumbers[i]!.get(facts[FACTS[i]!]);
        if (number !== undefined) onFact(number);
      }
    },
  };
  return { session: () => session, aside: () => {} };
}

/** Breaches of safety rules that follow from no other: what follows is told by its root, or is a liar's doing. */
function charged(
  findings: readonly Finding[],
  seenBy: Side,
  may: (side: Side) => boolean,
  observations: readonly Observation[],
): Charge[] {
  return findings.flatMap(({ rule, class: kind, status, owners, says, at, causedBy }) => {
    const own = owners.filter(may);
    if (kind !== 'safety' || status !== 'breach' || causedBy !== null || own.length === 0)
      return [];
    return [{ rule, owners: own, says, at, seenBy, messages: messagesUntil(observations, at) }];
  });
}

export function messagesUntil(observations: readonly Observation[], at_s: number): number {
  const until_ns = Math.round(at_s * 1e9);
  return observations.filter(({ kind, at_ns }) => kind === 'message' && at_ns <= until_ns).length;
}
