// Expressions of a model as Promela.
import { readsOf } from './explore/expressions.ts';
import type { Expr, Model } from './model/form.ts';

/** How names and lookups are written: Promela itself, or C inside of it, which reads the state through `now`. */
export interface Dialect {
  readonly model: Model;
  /** Choices whose value is fixed where the expression stands; others are the variables `c0`, `c1`, … */
  readonly chosen: ReadonlyMap<string, number>;
  /** The choices of the command, in order. */
  readonly choices: readonly string[];
  readonly inC: boolean;
  /** Names of parts that are computed already. */
  readonly named?: (expr: Expr) => string | undefined;
}

/** An expression that reads a table is C as a whole: SPIN takes its time over each piece of C. */
export function write(expr: Expr, dialect: Dialect): string {
  const name = dialect.named?.(expr);
  if (name !== undefined) return name;
  if (!dialect.inC && readsOf(expr).tables.size > 0)
    return `c_expr { ${write(expr, { ...dialect, inC: true })} }`;
  const part = (inner: Expr): string => write(inner, dialect);
  switch (expr.kind) {
    case 'constant':
      return expr.value < 0 ? `(${expr.value})` : `${expr.value}`;
    case 'variable':
      return `${dialect.inC ? 'now.' : ''}v${numberOf(expr.name, dialect)}`;
    case 'choice':
      return writeChosen(expr.name, dialect);
    case 'lookup':
      return writeLookup(expr, dialect);
    case 'binary':
      return writeBinary(expr, dialect);
    case 'and':
      return expr.of.length === 0 ? '1' : `(${expr.of.map(part).join(' && ')})`;
    case 'or':
      return expr.of.length === 0 ? '0' : `(${expr.of.map(part).join(' || ')})`;
    case 'not':
      return `!(${part(expr.of)})`;
    case 'if':
      return writeChoice(part(expr.test), part(expr.whenTrue), part(expr.whenFalse), dialect);
  }
}

export function numberOf(variable: string, { model }: Dialect): number {
  return model.variables.findIndex(({ name }) => name === variable);
}

function writeChosen(name: string, { chosen, choices, inC }: Dialect): string {
  const value = chosen.get(name);
  if (value !== undefined) return `${value}`;
  return `${inC ? 'now.' : ''}c${choices.indexOf(name)}`;
}

function writeBinary(expr: Expr & { kind: 'binary' }, dialect: Dialect): string {
  const [left, right] = [write(expr.left, dialect), write(expr.right, dialect)];
  if (expr.operator === 'min') return writeChoice(`${left} < ${right}`, left, right, dialect);
  if (expr.operator === 'max') return writeChoice(`${left} > ${right}`, left, right, dialect);
  return `(${left} ${expr.operator} ${right})`;
}

function writeChoice(test: string, yes: string, no: string, { inC }: Dialect): string {
  return inC ? `((${test}) ? (${yes}) : (${no}))` : `((${test}) -> (${yes}) : (${no}))`;
}

function writeLookup(expr: Expr & { kind: 'lookup' }, dialect: Dialect): string {
  const number = dialect.model.tables.findIndex(({ name }) => name === expr.table);
  const { dimensions } = dialect.model.tables[number]!;
  const cell = expr.indices
    .map((index) => write(index, dialect))
    .reduce((before, index, i) => `(${before}) * ${dimensions[i]!} + ${index}`);
  return `t${number}[${cell}]`;
}
