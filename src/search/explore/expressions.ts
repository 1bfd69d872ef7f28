// What expressions read.
import type { Expr } from '../model/form.ts';

function visit(expr: Expr, see: (part: Expr) => void): void {
  see(expr);
  switch (expr.kind) {
    case 'lookup':
      for (const index of expr.indices) visit(index, see);
      break;
    case 'binary':
      visit(expr.left, see);
      visit(expr.right, see);
      break;
    case 'and':
    case 'or':
      for (const part of expr.of) visit(part, see);
      break;
    case 'not':
      visit(expr.of, see);
      break;
    case 'if':
      for (const part of [expr.test, expr.whenTrue, expr.whenFalse]) visit(part, see);
      break;
    default:
  }
}

export interface Reads {
  readonly variables: ReadonlySet<string>;
  readonly choices: ReadonlySet<string>;
  readonly tables: ReadonlySet<string>;
}

export function readsOf(expr: Expr): Reads {
  const [variables, choices, tables] = [new Set<string>(), new Set<string>(), new Set<string>()];
  visit(expr, (part) => {
    if (part.kind === 'choice') choices.add(part.name);
    if (part.kind === 'variable') variables.add(part.name);
    if (part.kind === 'lookup') tables.add(part.table);
  });
  return { variables, choices, tables };
}

/** A rough measure of what evaluating takes: lookups cost most. */
export function costOf(expr: Expr): number {
  let cost = 0;
  visit(expr, ({ kind }) => {
    cost += kind === 'lookup' ? 4 : 1;
  });
  return cost;
}
