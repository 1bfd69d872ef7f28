// A reading of the form of its own, for tests to hold the engine against: states are arrays, sets are Maps of text.
import { expect } from 'vitest';
import type { Trace } from '../../../src/search/explore/trace.ts';
import type { Command, Expr, Model } from '../../../src/search/model/form.ts';

type Values = Record<string, number>;

interface Step {
  command: string;
  chosen: Values;
  to: number[];
}

/** Throws on an index outside its table. */
export function value(model: Model, expr: Expr, env: Values): number {
  const of = (part: Expr): number => value(model, part, env);
  switch (expr.kind) {
    case 'constant':
      return expr.value;
    case 'variable':
      return env[expr.name]!;
    case 'choice':
      return env[`choice ${expr.name}`]!;
    case 'lookup': {
      const table = model.tables.find(({ name }) => name === expr.table)!;
      const at = expr.indices.map(of);
      if (at.some((index, i) => index < 0 || index >= table.dimensions[i]!))
        throw new Error('outside');
      return table.values[at.reduce((cell, index, i) => cell * table.dimensions[i]! + index, 0)]!;
    }
    case 'and':
      return expr.of.every((part) => of(part) !== 0) ? 1 : 0;
    case 'or':
      return expr.of.some((part) => of(part) !== 0) ? 1 : 0;
    case 'not':
      return of(expr.of) === 0 ? 1 : 0;
    case 'if':
      return of(expr.test) !== 0 ? of(expr.whenTrue) : of(expr.whenFalse);
    case 'binary': {
      const [a, b] = [of(expr.left), of(expr.right)];
      const results = {
        '+': a + b,
        '-': a - b,
        // Adding 0 turns −0 into 0.
        '*': a * b + 0,
        min: a < b ? a : b,
        max: a < b ? b : a,
        '==': a === b,
        '!=': a !== b,
        '<': a < b,
        '<=': a <= b,
        '>': a > b,
        '>=': a >= b,
      };
      return Number(results[expr.operator]);
    }
  }
}

/** Every step out of a state. */
function stepsFrom(model: Model, state: readonly number[]): Step[] {
  const env = Object.fromEntries(model.variables.map(({ name }, i) => [name, state[i]!]));
  return model.commands.flatMap((command) => stepsBy(model, command, state, env, {}));
}

function stepsBy(
  model: Model,
  command: Command,
  state: readonly number[],
  env: Values,
  chosen: Values,
): Step[] {
  const choice = command.choices[Object.keys(chosen).length];
  if (choice !== undefined) {
    const size = Math.max(0, value(model, choice.size, env));
    return Array.from({ length: size }, (_, k) => {
      const more = { ...env, [`choice ${choice.name}`]: k };
      return stepsBy(model, command, state, more, { ...chosen, [choice.name]: k });
    }).flat();
  }
  if (value(model, command.guard, env) === 0) return [];
  const to = model.variables.map(({ name, size }, i) => {
    const update = command.updates.find(({ variable }) => variable === name);
    const next = update === undefined ? state[i]! : value(model, update.value, env);
    if (next < 0 || next >= size) throw new Error('outside');
    return next;
  });
  return [{ command: command.name, chosen, to }];
}

/** Every step of a trace is one the model allows. */
export function expectTrace(model: Model, trace: Trace): void {
  expect(trace.initial).toEqual(model.variables.map(({ initial }) => initial));
  let state = trace.initial;
  for (const { command, chosen, state: to } of trace.steps) {
    expect(stepsFrom(model, state)).toContainEqual({ command, chosen, to });
    state = to;
  }
}

export interface Reference {
  states: number;
  transitions: number;
  depth: number;
  fired: Record<string, number>;
  /** Steps to the nearest state that breaks each invariant. */
  broken: (number | undefined)[];
  deadlock: number | undefined;
  /** How many states cannot reach the goal, if one is asked about. */
  stuck: number;
}

/** The plainest breadth-first search there is. */
export function reference(model: Model, goal?: Expr): Reference {
  const first = model.variables.map(({ initial }) => initial);
  const depths = new Map([[first.join(), 0]]);
  const queue = [first];
  const before = new Map<string, string[]>();
  const fired = Object.fromEntries(model.commands.map(({ name }) => [name, 0]));
  const broken = model.invariants.map((): number | undefined => undefined);
  const good: string[] = [];
  let [transitions, depth] = [0, 0];
  let deadlock: number | undefined;
  for (const state of queue) {
    const key = state.join();
    depth = depths.get(key)!;
    const env = Object.fromEntries(model.variables.map(({ name }, i) => [name, state[i]!]));
    for (const [i, { holds }] of model.invariants.entries()) {
      if (value(model, holds, env) === 0) broken[i] ??= depth;
    }
    if (goal && value(model, goal, env) !== 0) good.push(key);
    const steps = stepsFrom(model, state);
    if (steps.length === 0 && model.mayEnd && value(model, model.mayEnd, env) === 0)
      deadlock ??= depth;
    for (const { command, to } of steps) {
      transitions++;
      fired[command]!++;
      before.set(to.join(), [...(before.get(to.join()) ?? []), key]);
      if (depths.has(to.join())) continue;
      depths.set(to.join(), depth + 1);
      queue.push(to);
    }
  }
  const reaching = new Set(good);
  for (const key of reaching) for (const source of before.get(key) ?? []) reaching.add(source);
  const stuck = depths.size - reaching.size;
  return { states: depths.size, transitions, depth, fired, broken, deadlock, stuck };
}
