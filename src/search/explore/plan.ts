// How the guard of each command is tried: what reads one variable becomes a set of allowed values (a table of the
// generated code's decisions), the rest is ordered so that cheap tests that cannot fail come first.
import { evaluate } from '../model/evaluate.ts';
import type { Command, Expr, Model } from '../model/form.ts';
import { ModelError } from '../model/form.ts';
import { costOf, readsOf } from './expressions.ts';
import { mayFail, modelScope, withChoices } from '../model/ranges.ts';
import type { Range, Scope } from '../model/ranges.ts';

/** Variables with more values are compared, not tabled. */
const MAXIMUM_TABLED_SIZE = 1024;

export interface Plan {
  /** The command, its guard in the order it is tried. */
  readonly command: Command;
  readonly index: number;
  /** For each variable that a test of its own restricts: which values are allowed. */
  readonly allowed: ReadonlyMap<number, readonly boolean[]>;
  /** Further tests: those under `tests[n]` read the first n choices at most. */
  readonly tests: readonly (readonly Expr[])[];
  /** Ranges known to hold once all of `allowed` holds. */
  readonly scope: Scope;
}

/** The plans of all commands that some state could allow. */
export function planCommands(model: Model): Plan[] {
  const scope = modelScope(model);
  const plans = model.commands.map((command, index) => planCommand(model, scope, command, index));
  return plans.filter((plan) => plan !== undefined);
}

function planCommand(
  model: Model,
  outer: Scope,
  command: Command,
  index: number,
): Plan | undefined {
  const allowed = new Map<number, boolean[]>();
  const tabled: Expr[] = [];
  const others: Expr[] = [];
  for (const part of conjuncts(command.guard)) {
    const { variables, choices } = readsOf(part);
    if (choices.size > 0 || variables.size > 1) others.push(part);
    else if (restrict(model, part, [...variables][0], allowed)) tabled.push(part);
    else others.push(part);
  }
  if ([...allowed.values()].some((values) => !values.includes(true))) return undefined;
  const scope = withChoices(narrow(model, outer, allowed), command.choices);
  const risky = others.filter((part) => mayFail(part, scope));
  const safe = others.filter((part) => !risky.includes(part));
  const tests = [...command.choices, undefined].map((): Expr[] => []);
  for (const part of safe) tests[depthOf(part, command)]!.push(part);
  for (const parts of tests) parts.sort((a, b) => costOf(a) - costOf(b));
  tests.at(-1)!.push(...risky);
  const guard: Expr = { kind: 'and', of: [...tabled, ...tests.flat()] };
  allowed.delete(-1);
  return { command: { ...command, guard }, index, allowed, tests, scope };
}

function conjuncts(expr: Expr): Expr[] {
  return expr.kind === 'and' ? expr.of.flatMap(conjuncts) : [expr];
}

/**
 * Lowers the allowed values of a variable to those for which `part` holds. False when the variable is too wide or the
 * part cannot be evaluated everywhere. A part without variables restricts the pseudo variable −1.
 */
function restrict(
  model: Model,
  part: Expr,
  name: string | undefined,
  allowed: Map<number, boolean[]>,
): boolean {
  const variable = model.variables.findIndex((candidate) => candidate.name === name);
  const size = model.variables[variable]?.size ?? 1;
  if (size > MAXIMUM_TABLED_SIZE) return false;
  const state = model.variables.map(() => 0);
  const values: boolean[] = [];
  try {
    for (let value = 0; value < size; value++) {
      if (variable >= 0) state[variable] = value;
      values.push(evaluate(part, { model, state, chosen: new Map() }) !== 0);
    }
  } catch (error) {
    if (error instanceof ModelError) return false;
    throw error;
  }
  const before = allowed.get(variable);
  allowed.set(
    variable,
    values.map((holds, i) => holds && (before?.[i] ?? true)),
  );
  return true;
}

function narrow(model: Model, scope: Scope, allowed: ReadonlyMap<number, boolean[]>): Scope {
  const variables = new Map<string, Range>(scope.variables);
  for (const [variable, values] of allowed) {
    if (variable < 0) continue;
    const range = { low: values.indexOf(true), high: values.lastIndexOf(true) };
    variables.set(model.variables[variable]!.name, range);
  }
  return { ...scope, variables };
}

/** How many of a command's choices must be made before an expression can be evaluated. */
function depthOf(expr: Expr, { choices }: Command): number {
  const read = readsOf(expr).choices;
  return 1 + choices.findLastIndex(({ name }) => read.has(name));
}
