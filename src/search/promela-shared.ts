// Expressions are trees that share many of their parts; written out as they are, a part stands once for each use. Here
// the parts are found that are worth computing once.
import type { Expr } from './model/form.ts';
import { mayFail, type Scope } from './model/ranges.ts';

/** Tells apart expressions by what they are made of. */
export class Parts {
  readonly #ids = new WeakMap<Expr, number>();
  readonly #known = new Map<string, number>();
  /** By id: one expression of its kind, and how many others it is a part of. */
  readonly #examples: Expr[] = [];
  readonly #uses: number[] = [];

  idOf(expr: Expr): number {
    const found = this.#ids.get(expr);
    if (found !== undefined) return found;
    const children = childrenOf(expr).map((child) => this.idOf(child));
    const key = `${headOf(expr)} ${children.join(' ')}`;
    let id = this.#known.get(key);
    if (id === undefined) {
      this.#known.set(key, (id = this.#examples.length));
      this.#examples.push(expr);
      this.#uses.push(0);
      for (const child of new Set(children)) this.#uses[child]! += 1;
    }
    this.#ids.set(expr, id);
    return id;
  }

  /** Parts used more than once in these expressions, smaller ones first; only what can be computed in any state. */
  shared(roots: readonly Expr[], scope: Scope): Expr[] {
    for (const root of roots) this.#uses[this.idOf(root)]! += 1;
    return this.#examples.filter((expr, id) => {
      return this.#uses[id]! > 1 && childrenOf(expr).length > 0 && !mayFail(expr, scope);
    });
  }
}

function childrenOf(expr: Expr): readonly Expr[] {
  switch (expr.kind) {
    case 'constant':
    case 'variable':
    case 'choice':
      return [];
    case 'lookup':
      return expr.indices;
    case 'binary':
      return [expr.left, expr.right];
    case 'and':
    case 'or':
      return expr.of;
    case 'not':
      return [expr.of];
    case 'if':
      return [expr.test, expr.whenTrue, expr.whenFalse];
  }
}

/** What an expression is beside its children. */
function headOf(expr: Expr): string {
  switch (expr.kind) {
    case 'constant':
      return `constant ${expr.value}`;
    case 'variable':
    case 'choice':
      return `${expr.kind} ${expr.name}`;
    case 'lookup':
      return `lookup ${expr.table}`;
    case 'binary':
      return expr.operator;
    default:
      return expr.kind;
  }
}
