// A rule as an expression of the model: the rule's own `judge` is run on facts that are read one at a time, so the same
// code judges a capture and every state of a search. Only what it reads is branched on.
import type { Facts } from '../../facts/vocabulary.ts';
import type { Judgement, Rule } from '../../rules/rule.ts';
import { constant, type TableTerm, type Term } from '../model/build.ts';

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

/** A fact that the tree branches on, and its values there. */
interface Branch {
  readonly when: When;
  readonly fact: keyof Facts;
  readonly values: number;
}

/** What is left of a tree once the facts that cannot change in a step are known. */
function pruned(tree: RuleTree, step: Step): RuleTree {
  if (typeof tree === 'boolean') return tree;
  const { index } = step[tree.when][tree.fact];
  if (index.expr.kind === 'constant') return pruned(tree.branches[index.expr.value]!, step);
  const branches = tree.branches.map((branch) => pruned(branch, step));
  const [first] = branches;
  const same = typeof first === 'boolean' && branches.every((one) => one === first);
  return same ? first : { ...tree, branches };
}

function branchesOf(tree: RuleTree, found: Branch[]): Branch[] {
  if (typeof tree === 'boolean') return found;
  const { when, fact, branches } = tree;
  if (!found.some((one) => one.when === when && one.fact === fact)) {
    found.push({ when, fact, values: branches.length });
  }
  for (const branch of branches) branchesOf(branch, found);
  return found;
}

function valueAt(tree: RuleTree, over: readonly Branch[], chosen: readonly number[]): boolean {
  if (typeof tree === 'boolean') return tree;
  const at = over.findIndex(({ when, fact }) => when === tree.when && fact === tree.fact);
  return valueAt(tree.branches[chosen[at]!]!, over, chosen);
}

/** Makes one table of each text asked for, and gives it again when asked again. */
export type MakeTable = (dimensions: readonly number[], values: readonly number[]) => TableTerm;

/** The tree over the facts of one step: one look-up in a table over the facts it reads. */
export function treeTerm(tree: RuleTree, step: Step, make: MakeTable): Term | boolean {
  const rest = pruned(tree, step);
  if (typeof rest === 'boolean') return rest;
  const over = branchesOf(rest, []);
  const sizes = over.map(({ values }) => values);
  const cells = sizes.reduce((product, size) => product * size, 1);
  const values = Array.from({ length: cells }, (_, cell) => {
    let left = cell;
    const chosen = sizes.map(() => 0);
    for (let at = sizes.length - 1; at >= 0; at -= 1) {
      chosen[at] = left % sizes[at]!;
      left = Math.floor(left / sizes[at]!);
    }
    return Number(valueAt(rest, over, chosen));
  });
  return make(sizes, values).at(...over.map(({ when, fact }) => step[when][fact].index));
}
