// One command of the whole: the variables it changes, what happens in it, and every rule judged on it.
import { and, type ChoiceTerm, type Operand } from '../model/build.ts';
import type { Change } from './change.ts';
import { forget } from './forget.ts';
import { brokenBy, factTerms, ruleTrees, type Happening } from './facts.ts';
import type { FactTerms, RuleTree } from './rule-term.ts';
import type { Memory } from './memory.ts';
import type { System } from './system.ts';

export interface CommandDraft {
  name: string;
  guard: Operand;
  choose?: ChoiceTerm[];
  change: Change;
  happening?: Happening;
  /** Facts of the moment that the change itself overrides: the gate at which a contactor closes. */
  at?: Change;
  labels?: { name: string; value: Operand; names?: readonly string[] }[];
}

const grown = new WeakMap<System, RuleTree[]>();

function treesOf(system: System, facts: FactTerms): RuleTree[] {
  let trees = grown.get(system);
  if (trees === undefined) grown.set(system, (trees = ruleTrees(facts)));
  return trees;
}

/** Adds a command, with every rule judged on it; nothing goes on once a rule is broken. */
export function addCommand(system: System, memory: Memory, draft: CommandDraft): void {
  const { is, builder } = system;
  const { change, happening = {}, at } = draft;
  const before = factTerms(system, memory, (variable) => variable, {});
  const now = factTerms(
    system,
    memory,
    (variable) => {
      const kept = at?.now(variable);
      return kept !== undefined && kept !== variable ? kept : change.now(variable);
    },
    happening,
  );
  const broken = brokenBy(treesOf(system, before), before, now);
  forget(system, change);
  builder.command(draft.name, {
    ...(draft.choose === undefined ? {} : { choose: draft.choose }),
    guard: and(is.broken.eq(0), draft.guard),
    set: [...change.updates(), is.broken.to(broken)],
    ...(draft.labels === undefined ? {} : { labels: draft.labels }),
  });
}
