// A rule as an expression of the model: the rule's own `judge` is run on facts that are read one at a time, so the same
// code judges a capture and every state of a search. Only what it reads is branched on.
import type { Facts } from '../../facts/vocabulary.ts';
import type { Judgement, Rule } from '../../rules/rule.ts';
import { constant, ifThen, type Term } from '../model/build.ts';

/** One fact in the model: its possible values, and which of them it has now (an index into them). */
export interface FactTerm {
  readonly values: readonly (string | boolean | null)[];
  readonly index: Term;
}

export type FactTerms = { readonly [K in keyof Facts]: FactTerm };

/** A fact that cannot change in this model. */
export function fixed(value: string | boolean | null): FactTerm {
  return { values: [value], index: constant(0) };
}

class Unread extends Error {
  readonly when: 'before' | 'now';
  readonly fact: keyof Facts;

  constructor(when: 'before' | 'now', fact: keyof Facts) {
    super(`${when}.${fact}`);
    this.when = when;
    this.fact = fact;
  }
}

type Known = Map<string, string | boolean | null>;

export interface Step {
  before: FactTerms;
  now: FactTerms;
}

/** Where the judgement satisfies `wanted`, over the facts of one step; constant where the facts leave no choice. */
export function judged(
  rule: Pick<Rule, 'judge'>,
  step: Step,
  wanted: (judgements: readonly Judgement[]) => boolean,
): Term | boolean {
  return branch(rule, step, wanted, new Map());
}

function branch(
  rule: Pick<Rule, 'judge'>,
  step: Step,
  wanted: (judgements: readonly Judgement[]) => boolean,
  known: Known,
): Term | boolean {
  try {
    return wanted(rule.judge(reader('before', step, known), reader('now', step, known)));
  } catch (error) {
    if (!(error instanceof Unread)) throw error;
    const { values, index } = step[error.when][error.fact];
    const outcomes = values.map((value) => {
      const deeper = new Map(known).set(`${error.when}.${error.fact}`, value);
      return branch(rule, step, wanted, deeper);
    });
    return choose(index, outcomes);
  }
}

/** The outcome for the value that `index` has; nothing is tested where all outcomes are the same. */
function choose(index: Term, outcomes: (Term | boolean)[]): Term | boolean {
  const last = outcomes.at(-1)!;
  if (outcomes.every((one) => one === last)) return last;
  let chosen = last;
  for (let value = outcomes.length - 2; value >= 0; value -= 1) {
    const outcome = outcomes[value]!;
    if (outcome === chosen) continue;
    chosen = ifThen(index.eq(value), outcome, chosen);
  }
  return chosen;
}

function reader(when: 'before' | 'now', step: Step, known: Known): Facts {
  return new Proxy({} as Facts, {
    get(_target, fact: string) {
      const key = `${when}.${fact}`;
      if (known.has(key)) return known.get(key);
      const { values } = step[when][fact as keyof Facts];
      if (values.length === 1) return values[0];
      throw new Unread(when, fact as keyof Facts);
    },
  });
}
