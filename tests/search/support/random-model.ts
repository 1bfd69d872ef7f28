// Random small models for property tests. Indices are kept inside their tables, values may leave their variables.
import * as fc from 'fast-check';
import type { Command, Expr, Model, Variable } from '../../../src/search/model/form.ts';

const OPERATORS = ['+', '-', '*', 'min', 'max', '==', '!=', '<', '<=', '>', '>='] as const;
const TABLES = [
  { name: 'line', dimensions: [3], values: Int32Array.of(2, 0, 1) },
  { name: 'plane', dimensions: [2, 3], values: Int32Array.of(0, 1, 3, -1, 2, 0) },
];

function clamped(expr: Expr, size: number): Expr {
  const low: Expr = { kind: 'constant', value: 0 };
  const high: Expr = { kind: 'constant', value: size - 1 };
  const atLeast: Expr = { kind: 'binary', operator: 'max', left: expr, right: low };
  return { kind: 'binary', operator: 'min', left: atLeast, right: high };
}

function exprs(leaves: Expr[], depth: number): fc.Arbitrary<Expr> {
  const leaf: fc.Arbitrary<Expr> = fc.oneof(
    fc.integer({ min: -1, max: 4 }).map((value): Expr => ({ kind: 'constant', value })),
    { arbitrary: fc.constantFrom(...leaves), weight: 3 },
  );
  if (depth === 0) return leaf;
  const inner = exprs(leaves, depth - 1);
  return fc.oneof(
    leaf,
    fc
      .record({ operator: fc.constantFrom(...OPERATORS), left: inner, right: inner })
      .map((parts): Expr => ({ kind: 'binary', ...parts })),
    fc
      .record({
        kind: fc.constantFrom('and' as const, 'or' as const),
        of: fc.array(inner, { maxLength: 3 }),
      })
      .map((parts): Expr => parts),
    inner.map((of): Expr => ({ kind: 'not', of })),
    fc
      .record({ test: inner, whenTrue: inner, whenFalse: inner })
      .map((parts): Expr => ({ kind: 'if', ...parts })),
    inner.map((at): Expr => ({ kind: 'lookup', table: 'line', indices: [clamped(at, 3)] })),
    fc.tuple(inner, inner).map(([row, column]): Expr => ({
      kind: 'lookup',
      table: 'plane',
      indices: [clamped(row, 2), clamped(column, 3)],
    })),
  );
}

function commands(variables: readonly Variable[], safe: boolean): fc.Arbitrary<Command> {
  const reads = variables.map(({ name }): Expr => ({ kind: 'variable', name }));
  const sizes = fc.oneof(
    fc.integer({ min: 0, max: 3 }).map((value): Expr => ({ kind: 'constant', value })),
    fc.constantFrom(...reads),
  );
  return fc
    .record({ choices: fc.array(sizes, { maxLength: 2 }), set: fc.subarray([...variables]) })
    .chain(({ choices, set }) => {
      const chosen = choices.map((size, i) => ({ name: `k${i}`, size }));
      const leaves = [...reads, ...chosen.map(({ name }): Expr => ({ kind: 'choice', name }))];
      const updates = set.map(({ name, size }) =>
        exprs(leaves, 2).map((value) => ({
          variable: name,
          value: safe ? clamped(value, size) : value,
        })),
      );
      return fc.record({
        name: fc.constant(''),
        choices: fc.constant(chosen),
        guard: fc
          .array(exprs(leaves, 2), { maxLength: 3 })
          .map((of): Expr => ({ kind: 'and', of })),
        updates: updates.length === 0 ? fc.constant([]) : fc.tuple(...updates),
        labels: fc.constant([]),
      });
    });
}

/** `safe`: no value can leave its variable. */
export function models(safe: boolean): fc.Arbitrary<Model> {
  const variable = fc
    .record({ size: fc.integer({ min: 1, max: 5 }), seed: fc.nat() })
    .map(({ size, seed }) => ({ size, initial: seed % size }));
  return fc.array(variable, { minLength: 1, maxLength: 5 }).chain((parts) => {
    const variables = parts.map((part, i) => ({ name: `v${i}`, ...part }));
    const reads = variables.map(({ name }): Expr => ({ kind: 'variable', name }));
    return fc.record({
      name: fc.constant('random'),
      variables: fc.constant(variables),
      tables: fc.constant(TABLES),
      commands: fc
        .array(commands(variables, safe), { minLength: 1, maxLength: 8 })
        .map((all) => all.map((command, i) => ({ ...command, name: `command ${i}` }))),
      invariants: fc
        .array(exprs(reads, 3), { maxLength: 2 })
        .map((all) => all.map((holds, i) => ({ name: `invariant ${i}`, holds }))),
      mayEnd: exprs(reads, 1),
    });
  });
}
