// The plain meaning of a model, one state at a time: what the generated code must agree with. Used where speed does not
// matter: rebuilding traces, printing, telling errors.
import type { Arithmetic, Command, Comparison, Expr, Model, State } from './form.ts';
import { ModelError } from './form.ts';

/** What an expression may read. */
export interface Reading {
  readonly model: Model;
  readonly state: State;
  readonly chosen: ReadonlyMap<string, number>;
}

export interface Successor {
  readonly command: Command;
  readonly chosen: ReadonlyMap<string, number>;
  readonly state: State;
}

const NOTHING_CHOSEN: ReadonlyMap<string, number> = new Map();

export function initialState(model: Model): State {
  return model.variables.map(({ initial }) => initial);
}

/** Throws a ModelError when an index leaves its table. */
export function evaluate(expr: Expr, reading: Reading): number {
  switch (expr.kind) {
    case 'constant':
      return expr.value;
    case 'variable':
      return reading.state[reading.model.variables.findIndex(({ name }) => name === expr.name)]!;
    case 'choice':
      return reading.chosen.get(expr.name)!;
    case 'lookup':
      return lookup(expr, reading);
    case 'binary':
      return calculate(expr.operator, evaluate(expr.left, reading), evaluate(expr.right, reading));
    case 'and':
      return Number(expr.of.every((part) => evaluate(part, reading) !== 0));
    case 'or':
      return Number(expr.of.some((part) => evaluate(part, reading) !== 0));
    case 'not':
      return Number(evaluate(expr.of, reading) === 0);
    case 'if':
      return evaluate(evaluate(expr.test, reading) === 0 ? expr.whenFalse : expr.whenTrue, reading);
  }
}

/** True when an expression without choices holds in a state. */
export function holdsIn(model: Model, expr: Expr, state: State): boolean {
  return evaluate(expr, { model, state, chosen: NOTHING_CHOSEN }) !== 0;
}

/** Every step out of a state, in the model's order. */
export function* successors(model: Model, state: State): Generator<Successor> {
  for (const command of model.commands) {
    for (const chosen of waysToChoose(model, command, state, NOTHING_CHOSEN)) {
      const next = step(command, { model, state, chosen });
      if (next !== undefined) yield { command, chosen, state: next };
    }
  }
}

function* waysToChoose(
  model: Model,
  command: Command,
  state: State,
  chosen: ReadonlyMap<string, number>,
): Generator<ReadonlyMap<string, number>> {
  const choice = command.choices[chosen.size];
  if (choice === undefined) {
    yield chosen;
    return;
  }
  const size = evaluate(choice.size, { model, state, chosen });
  for (let value = 0; value < size; value++) {
    yield* waysToChoose(model, command, state, new Map(chosen).set(choice.name, value));
  }
}

/** The state after a command, or nothing where its guard does not hold. */
function step(command: Command, reading: Reading): State | undefined {
  try {
    return evaluate(command.guard, reading) === 0 ? undefined : apply(command, reading);
  } catch (error) {
    if (!(error instanceof ModelError)) throw error;
    const where = `${chosenText(reading.chosen)}in the state ${stateText(reading.model, reading.state)}`;
    throw new ModelError(`command ${command.name} ${error.message}, ${where}`);
  }
}

function chosenText(chosen: ReadonlyMap<string, number>): string {
  return [...chosen].map(([name, value]) => `with ${name} = ${value}, `).join('');
}

/** A state in words: `phase=ramp retries=2`. */
export function stateText({ variables }: Model, state: State): string {
  return variables
    .map(({ name, names }, i) => `${name}=${names?.[state[i]!] ?? state[i]}`)
    .join(' ');
}

function apply(command: Command, reading: Reading): State {
  const next = [...reading.state];
  for (const { variable, value } of command.updates) {
    const index = reading.model.variables.findIndex(({ name }) => name === variable);
    const result = evaluate(value, reading);
    const { size } = reading.model.variables[index]!;
    if (result < 0 || result >= size) {
      throw new ModelError(`sets ${variable} to ${result}, outside 0 … ${size - 1}`);
    }
    next[index] = result;
  }
  return next;
}

function lookup(expr: Expr & { kind: 'lookup' }, reading: Reading): number {
  const table = reading.model.tables.find(({ name }) => name === expr.table)!;
  let cell = 0;
  for (const [i, index] of expr.indices.entries()) {
    const at = evaluate(index, reading);
    const dimension = table.dimensions[i]!;
    if (at < 0 || at >= dimension) {
      throw new ModelError(`reads table ${table.name} at ${at}, outside 0 … ${dimension - 1}`);
    }
    cell = cell * dimension + at;
  }
  return table.values[cell]!;
}

function calculate(operator: Arithmetic | Comparison, a: number, b: number): number {
  switch (operator) {
    case '+':
      return a + b;
    case '-':
      return a - b;
    case '*':
      // An integer product: 0 × −1 is 0, not −0.
      return Math.imul(a, b);
    case 'min':
      return Math.min(a, b);
    case 'max':
      return Math.max(a, b);
    case '==':
      return Number(a === b);
    case '!=':
      return Number(a !== b);
    case '<':
      return Number(a < b);
    case '<=':
      return Number(a <= b);
    case '>':
      return Number(a > b);
    case '>=':
      return Number(a >= b);
  }
}
