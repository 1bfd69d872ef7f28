// Expressions as JavaScript source over int32 locals. Only numbers and names made here get into the source, never text
// of the model.
import type { Expr, Model } from '../model/form.ts';
import { rangeOf } from '../model/ranges.ts';
import type { Scope } from '../model/ranges.ts';

/** The locals of the generated code: `v3` a variable, `c0` a choice, `t2` a table. */
export interface Locals {
  readonly variables: ReadonlyMap<string, string>;
  readonly choices: ReadonlyMap<string, string>;
  readonly tables: ReadonlyMap<string, string>;
}

export interface Emission {
  readonly locals: Locals;
  /** Indices that these ranges prove to be inside are not checked. */
  readonly scope: Scope;
}

export function localsOf(model: Model, choices: readonly { name: string }[] = []): Locals {
  return {
    variables: numbered(model.variables, 'v'),
    choices: numbered(choices, 'c'),
    tables: numbered(model.tables, 't'),
  };
}

function numbered(names: readonly { name: string }[], letter: string): Map<string, string> {
  return new Map(names.map(({ name }, i) => [name, `${letter}${i}`]));
}

/** Source of an int32 value. */
export function emitInteger(expr: Expr, emission: Emission): string {
  const { locals } = emission;
  switch (expr.kind) {
    case 'constant':
      return `${expr.value}`;
    case 'variable':
      return locals.variables.get(expr.name)!;
    case 'choice':
      return locals.choices.get(expr.name)!;
    case 'lookup':
      return emitLookup(expr, emission);
    case 'if': {
      const [yes, no] = [expr.whenTrue, expr.whenFalse].map((part) => emitInteger(part, emission));
      return `(${emitTruth(expr.test, emission)} ? ${yes} : ${no})`;
    }
    case 'binary':
      if (COMPARISONS.has(expr.operator)) break;
      return emitArithmetic(expr, emission);
    default:
  }
  return `(${emitTruth(expr, emission)} ? 1 : 0)`;
}

/** Source of a boolean value. */
export function emitTruth(expr: Expr, emission: Emission): string {
  switch (expr.kind) {
    case 'constant':
      return expr.value === 0 ? 'false' : 'true';
    case 'and':
      return join(expr.of, ' && ', 'true', emission);
    case 'or':
      return join(expr.of, ' || ', 'false', emission);
    case 'not':
      return `!${emitTruth(expr.of, emission)}`;
    case 'if': {
      const [yes, no] = [expr.whenTrue, expr.whenFalse].map((part) => emitTruth(part, emission));
      return `(${emitTruth(expr.test, emission)} ? ${yes} : ${no})`;
    }
    case 'binary': {
      const operator = COMPARISONS.get(expr.operator);
      if (operator === undefined) break;
      const [left, right] = [expr.left, expr.right].map((part) => emitInteger(part, emission));
      return `(${left} ${operator} ${right})`;
    }
    default:
  }
  return `(${emitInteger(expr, emission)} !== 0)`;
}

const COMPARISONS: ReadonlyMap<string, string> = new Map([
  ['==', '==='],
  ['!=', '!=='],
  ['<', '<'],
  ['<=', '<='],
  ['>', '>'],
  ['>=', '>='],
]);

function emitArithmetic(expr: Expr & { kind: 'binary' }, emission: Emission): string {
  const [left, right] = [expr.left, expr.right].map((part) => emitInteger(part, emission));
  switch (expr.operator) {
    case 'min':
      return `Math.min(${left}, ${right})`;
    case 'max':
      return `Math.max(${left}, ${right})`;
    case '*':
      return `Math.imul(${left}, ${right})`;
    default:
      return `(${left} ${expr.operator} ${right} | 0)`;
  }
}

/** An index that the ranges cannot prove to be inside goes through `inside`, which throws. */
function emitLookup(expr: Expr & { kind: 'lookup' }, emission: Emission): string {
  const { dimensions } = emission.scope.tables.get(expr.table)!.table;
  let cell = '';
  for (const [i, index] of expr.indices.entries()) {
    const dimension = dimensions[i]!;
    const { low, high } = rangeOf(index, emission.scope);
    const plain = emitInteger(index, emission);
    const at = low >= 0 && high < dimension ? plain : `inside(${plain}, ${dimension})`;
    cell = cell === '' ? at : `(Math.imul(${cell}, ${dimension}) + ${at} | 0)`;
  }
  return `${emission.locals.tables.get(expr.table)!}[${cell}]`;
}

function join(parts: readonly Expr[], by: string, none: string, emission: Emission): string {
  if (parts.length === 0) return none;
  return `(${parts.map((part) => emitTruth(part, emission)).join(by)})`;
}
