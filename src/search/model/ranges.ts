// Intervals of expressions, so that only what could leave its range is checked while the search runs.
import type { Arithmetic, Choice, Comparison, Expr, Model, Table } from './form.ts';
import { ModelError } from './form.ts';

export interface Range {
  readonly low: number;
  readonly high: number;
}

/** What names stand for where an expression is read. */
export interface Scope {
  readonly variables: ReadonlyMap<string, Range>;
  readonly choices: ReadonlyMap<string, Range>;
  readonly tables: ReadonlyMap<string, TableRange>;
}

interface TableRange extends Range {
  readonly table: Table;
}

const TRUTH: Range = { low: 0, high: 1 };

/** The scope of a whole model, without choices. */
export function modelScope(model: Model): Scope {
  return {
    variables: new Map(model.variables.map(({ name, size }) => [name, { low: 0, high: size - 1 }])),
    choices: new Map(),
    tables: new Map(model.tables.map((table) => [table.name, { table, ...extremes(table) }])),
  };
}

/** The scope with a command's choices added. */
export function withChoices(scope: Scope, choices: readonly Choice[]): Scope {
  const known = new Map(scope.choices);
  const inner = { ...scope, choices: known };
  for (const { name, size } of choices) {
    known.set(name, { low: 0, high: Math.max(0, rangeOf(size, inner).high - 1) });
  }
  return inner;
}

/** The smallest interval this analysis can give. Throws a ModelError on unknown names and beyond 32 bits. */
export function rangeOf(expr: Expr, scope: Scope): Range {
  switch (expr.kind) {
    case 'constant':
      return within({ low: expr.value, high: expr.value });
    case 'variable':
      return named(scope.variables, expr.name, 'variable');
    case 'choice':
      return named(scope.choices, expr.name, 'choice');
    case 'lookup':
      return lookupRange(expr, scope);
    case 'binary':
      return within(
        binaryRange(expr.operator, rangeOf(expr.left, scope), rangeOf(expr.right, scope)),
      );
    case 'and':
    case 'or':
      for (const part of expr.of) rangeOf(part, scope);
      return TRUTH;
    case 'not':
      rangeOf(expr.of, scope);
      return TRUTH;
    case 'if': {
      rangeOf(expr.test, scope);
      const [yes, no] = [rangeOf(expr.whenTrue, scope), rangeOf(expr.whenFalse, scope)];
      return {
        low: Math.min(yes.low, no.low),
        high: Math.max(yes.high, no.high),
      };
    }
  }
}

/** True when evaluating may read outside a table. */
export function mayFail(expr: Expr, scope: Scope): boolean {
  switch (expr.kind) {
    case 'constant':
    case 'variable':
    case 'choice':
      return false;
    case 'lookup':
      return mayMiss(expr, scope) || expr.indices.some((index) => mayFail(index, scope));
    case 'binary':
      return mayFail(expr.left, scope) || mayFail(expr.right, scope);
    case 'and':
    case 'or':
      return expr.of.some((part) => mayFail(part, scope));
    case 'not':
      return mayFail(expr.of, scope);
    case 'if':
      return [expr.test, expr.whenTrue, expr.whenFalse].some((part) => mayFail(part, scope));
  }
}

/** True when an index of this lookup may fall outside its table. */
function mayMiss(expr: Expr & { kind: 'lookup' }, scope: Scope): boolean {
  const { dimensions } = named(scope.tables, expr.table, 'table').table;
  return expr.indices.some((index, i) => {
    const { low, high } = rangeOf(index, scope);
    return low < 0 || high >= dimensions[i]!;
  });
}

function lookupRange(expr: Expr & { kind: 'lookup' }, scope: Scope): Range {
  const { table, low, high } = named(scope.tables, expr.table, 'table');
  if (expr.indices.length !== table.dimensions.length) {
    throw new ModelError(
      `table ${table.name} has ${table.dimensions.length} dimensions and is read with ${expr.indices.length} indices`,
    );
  }
  for (const index of expr.indices) rangeOf(index, scope);
  return { low, high };
}

function binaryRange(operator: Arithmetic | Comparison, a: Range, b: Range): Range {
  switch (operator) {
    case '+':
      return { low: a.low + b.low, high: a.high + b.high };
    case '-':
      return { low: a.low - b.high, high: a.high - b.low };
    case '*': {
      const corners = [a.low * b.low, a.low * b.high, a.high * b.low, a.high * b.high];
      return { low: Math.min(...corners), high: Math.max(...corners) };
    }
    case 'min':
      return { low: Math.min(a.low, b.low), high: Math.min(a.high, b.high) };
    case 'max':
      return { low: Math.max(a.low, b.low), high: Math.max(a.high, b.high) };
    default:
      return TRUTH;
  }
}

function within(range: Range): Range {
  if (Number.isInteger(range.low) && Number.isInteger(range.high)) {
    if (range.low >= -(2 ** 31) && range.high < 2 ** 31) return range;
  }
  throw new ModelError(`an expression can reach ${range.low} … ${range.high}, beyond 32 bits`);
}

function named<T>(known: ReadonlyMap<string, T>, name: string, kind: string): T {
  const found = known.get(name);
  if (found === undefined) throw new ModelError(`unknown ${kind} ${name}`);
  return found;
}

function extremes({ values }: Table): Range {
  let [low, high] = [values[0] ?? 0, values[0] ?? 0];
  for (const value of values) {
    if (value < low) low = value;
    if (value > high) high = value;
  }
  return { low, high };
}
