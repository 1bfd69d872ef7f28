// One command of the whole: the variables it changes, what happens in it, and every rule judged on it.
import {
  and,
  ifThen,
  type ChoiceTerm,
  type Operand,
  type TableTerm,
  type Term,
} from '../model/build.ts';
import type { Change } from './change.ts';
import { forget } from './forget.ts';
import { brokenBy, factTerms, notesOf, ruleTrees } from './facts.ts';
import type { Happening, RuleTrees } from './facts.ts';
import type { FactTerms, MakeTable } from './rule-term.ts';
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
  /** What its taking covers. */
  covers?: { set: string; at: Operand };
}

/** Of one model: the trees of the rules, and the tables they have become so far. */
interface Grown {
  readonly trees: readonly RuleTrees[];
  readonly make: MakeTable;
}

const grown = new WeakMap<System, Grown>();

function grownFor(system: System, facts: FactTerms): Grown {
  const known = grown.get(system);
  if (known !== undefined) return known;
  const tables = new Map<string, TableTerm>();
  const make: MakeTable = (dimensions, values) => {
    const key = `${dimensions.join()}:${values.join('')}`;
    const table =
      tables.get(key) ?? system.builder.table(`rule_${tables.size}`, dimensions, values);
    tables.set(key, table);
    return table;
  };
  const made = { trees: ruleTrees(facts, system.alone), make };
  grown.set(system, made);
  return made;
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
  const { trees, make } = grownFor(system, before);
  const broken = couldKnow(system, brokenBy(trees, { before, now }, make));
  const over = forget(system, change);
  builder.command(draft.name, {
    choose: [...(draft.choose ?? []), ...over.choose],
    guard: and(is.broken.eq(0), draft.guard, over.guard),
    set: [...change.updates(), is.broken.to(broken)],
    ...(draft.labels === undefined ? {} : { labels: draft.labels }),
    notes: [
      ...(draft.covers === undefined ? [] : [draft.covers]),
      ...notesOf(trees, { before, now }, make),
    ],
  });
}

/** A side that stands alone answers for nothing that it could not see: that its peer is gone, say. */
function couldKnow({ alone, is }: System, broken: Term): Term {
  if (alone === undefined) return broken;
  const own = alone === 'vehicle' ? is.vehicleLink : is.chargerLink;
  return ifThen(and(is.link.eq(1), own.eq(0)), 0, broken);
}
