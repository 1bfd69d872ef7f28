// A rule as an expression of the model: the rule's own `judge` is run on facts that are read one at a time, so the same
// code judges a capture and every state of a search. Only what it reads is branched on.
import type { Facts } from '../../facts/vocabulary.ts';
import type { Judgement, Rule } from '../../rules/rule.ts';
import { constant, ifThen, type Term } from '../model/build.ts';

type Word = string | boolean | null;

/** One fact in the model: its possible values, and which of them it has now (an index into them). */
export interface FactTerm {
  readonly values: readonly Word[];
  readonly index: Term;
}

export type FactTerms = { readonly [K in keyof Facts]: FactTerm };

/** A fact that cannot change in this model. */
export function fixed(value: Word): FactTerm {
  return { values: [value], index: constant(0) };
}

type When = 'before' | 'now';

/** What a rule says, by the facts it reads, in the order it reads them. */
export type RuleTree = boolean | { when: When; fact: keyof Facts; branches: readonly RuleTree[] };

export interface Step {
  before: FactTerms;
  now: FactTerms;
}

/** Thrown when a rule reads a fact that has no value yet; no Error, since nobody needs its stack. */
interface Unread {
  when: When;
  fact: keyof Facts;
}

/** The tree of one rule: true where its judgements satisfy `wanted`. `values` gives the domain of each fact. */
export function ruleTree(
  rule: Pick<Rule, 'judge'>,
  values: { readonly [K in keyof Facts]: readonly Word[] },
  wanted: (judgements: readonly Judgement[]) => boolean,
): RuleTree {
  const known = new Map<string, Word>();
  let unread: Unread | null = null;
  const reader = (when: When): Facts =>
    new Proxy({} as Facts, {
      get(_target, fact: string) {
        const value = known.get(`${when}.${fact}`);
        if (value !== undefined) return value;
        const domain = values[fact as keyof Facts];
        if (domain.length === 1) return domain[0];
        unread = { when, fact: fact as keyof Facts };
        throw unread;
      },
    });
  const [before, now] = [reader('before'), reader('now')];
  const grow = (): RuleTree => {
    unread = null;
    try {
      return wanted(rule.judge(before, now));
    } catch (error) {
      if (unread === null || error !== unread) throw error;
    }
    const { when, fact } = unread as Unread;
    const key = `${when}.${fact}`;
    const branches = values[fact].map((value) => {
      known.set(key, value);
      const branch = grow();
      known.delete(key);
      return branch;
    });
    const [first] = branches;
    const same = typeof first === 'boolean' && branches.every((one) => one === first);
    return same ? first : { when, fact, branches };
  };
  return grow();
}

/** The tree over the facts of one step. */
export function treeTerm(tree: RuleTree, step: Step): Term | boolean {
  if (typeof tree === 'boolean') return tree;
  const { index } = step[tree.when][tree.fact];
  if (index.expr.kind === 'constant') return treeTerm(tree.branches[index.expr.value]!, step);
  const outcomes = tree.branches.map((branch) => treeTerm(branch, step));
  let chosen = outcomes.at(-1)!;
  for (let value = outcomes.length - 2; value >= 0; value -= 1) {
    const outcome = outcomes[value]!;
    if (outcome !== chosen) chosen = ifThen(index.eq(value), outcome, chosen);
  }
  return chosen;
}
