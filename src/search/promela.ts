// A model as Promela, for SPIN: the same variables, commands and invariants, read by an independent tool.
//
// One process loops over all commands; each command, for each way to choose, is one `d_step`, so SPIN stores exactly the
// states of the model. What SPIN reports relates to a complete search of ours like this (tests/search hold it to that):
//   states, stored   = states
//   transitions      = transitions + 1 (SPIN counts the initial state) + one for each state that breaks the invariant
//                      selected with -DINVARIANT=n, or that is excused from having no successor
//   errors           = states that break the selected invariant, or with `mayEnd` also deadlocks ("invalid end state")
// provided that pan is compiled with -DSAFETY -DNOREDUCE (all interleavings, here all commands) and without lossy
// storage, and run with -c0 (go on after an error), and -E (no deadlocks) where the model has no `mayEnd`.
import { checkModel } from './model/check.ts';
import type { Choice, Command, Expr, Model } from './model/form.ts';
import { modelScope, withChoices } from './model/ranges.ts';

/** How names and lookups are written: Promela itself, or C inside of it, which reads the state through `now`. */
interface Dialect {
  readonly model: Model;
  readonly chosen: ReadonlyMap<string, number>;
  readonly inC: boolean;
}

/** The whole model. Invariant n (from 0, in the model's order) is asserted when compiled with -DINVARIANT=n. */
export function promelaOf(model: Model): string {
  checkModel(model);
  const here: Dialect = { model, chosen: new Map(), inC: false };
  const options = model.commands.flatMap((command) => writeCommand(command, model));
  const ends = model.mayEnd ? [`:: d_step { ${write(model.mayEnd, here)} -> skip }`] : [];
  return [
    `/* ${commentText(model.name)} */`,
    ...writeTables(model),
    ...model.variables.map(({ name, size, initial }, i) => {
      return `${typeFor(size)} v${i} = ${initial}; /* ${commentText(name)}: 0 .. ${size - 1} */`;
    }),
    `hidden int ${scratchNames(model).join(', ')};`,
    '',
    'active proctype model() {',
    '  do',
    ...options.map((option) => `  ${option}`),
    ...ends.map((option) => `  ${option}`),
    ...writeInvariants(model, here),
    '  od',
    '}',
    '',
  ].join('\n');
}

function writeInvariants(model: Model, here: Dialect): string[] {
  return model.invariants.flatMap(({ name, holds }, i) => [
    `#if defined(INVARIANT) && INVARIANT == ${i}`,
    `  :: d_step { !(${write(holds, here)}) -> assert(false) } /* ${commentText(name)} */`,
    '#endif',
  ]);
}

/** One option for each way to choose; ways that a state does not have are guarded by the size of the choice. */
function writeCommand(command: Command, model: Model): string[] {
  const scope = withChoices(modelScope(model), command.choices);
  const most = command.choices.map(({ name }) => scope.choices.get(name)!.high + 1);
  return waysToChoose(command.choices, most).map((chosen) => {
    const dialect = { model, chosen, inC: false };
    const guards = command.choices
      .filter(({ size }) => size.kind !== 'constant')
      .map(({ name, size }) => `(${chosen.get(name)!} < ${write(size, dialect)})`);
    const guard = [...guards, write(command.guard, dialect)].join(' && ');
    return `:: d_step { ${guard} -> ${writeUpdates(command, dialect)} } /* ${commentText(command.name)} */`;
  });
}

function waysToChoose(choices: readonly Choice[], most: readonly number[]): Map<string, number>[] {
  let ways = [new Map<string, number>()];
  for (const [i, { name }] of choices.entries()) {
    const values = Array.from({ length: most[i]! }, (_, value) => value);
    ways = ways.flatMap((way) => values.map((value) => new Map(way).set(name, value)));
  }
  return ways;
}

/** All values are computed before any is set, as the form asks; one that nothing else reads is set at once. */
function writeUpdates({ updates }: Command, dialect: Dialect): string {
  const index = (name: string): number => dialect.model.variables.findIndex((v) => v.name === name);
  if (updates.length === 0) return 'skip';
  if (updates.length === 1 || updates.every(({ value }) => value.kind === 'constant')) {
    return updates.map((u) => `v${index(u.variable)} = ${write(u.value, dialect)}`).join('; ');
  }
  const computed = updates.map((u, i) => `x${i} = ${write(u.value, dialect)}`);
  return [...computed, ...updates.map((u, i) => `v${index(u.variable)} = x${i}`)].join('; ');
}

function scratchNames({ commands }: Model): string[] {
  const most = Math.max(1, ...commands.map(({ updates }) => updates.length));
  return Array.from({ length: most }, (_, i) => `x${i}`);
}

/** Constant tables live in C, outside the state. */
function writeTables({ tables }: Model): string[] {
  if (tables.length === 0) return [];
  const lines = tables.map(({ values }, i) => {
    return `  static const int t${i}[${values.length}] = { ${values.join(', ')} };`;
  });
  return ['c_decl {', ...lines, '};'];
}

function typeFor(size: number): string {
  if (size <= 2) return 'bit';
  if (size <= 256) return 'byte';
  return size <= 2 ** 15 ? 'short' : 'int';
}

function write(expr: Expr, dialect: Dialect): string {
  const part = (inner: Expr): string => write(inner, dialect);
  switch (expr.kind) {
    case 'constant':
      return expr.value < 0 ? `(${expr.value})` : `${expr.value}`;
    case 'variable': {
      const i = dialect.model.variables.findIndex(({ name }) => name === expr.name);
      return dialect.inC ? `now.v${i}` : `v${i}`;
    }
    case 'choice':
      return `${dialect.chosen.get(expr.name)!}`;
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
    .map((index) => write(index, { ...dialect, inC: true }))
    .reduce((before, index, i) => `(${before}) * ${dimensions[i]!} + ${index}`);
  return dialect.inC ? `t${number}[${cell}]` : `c_expr { t${number}[${cell}] }`;
}

/** Text that cannot end a comment, spread over lines, or start a directive. */
function commentText(text: string): string {
  return text.replaceAll(/[^\w .,:;()+-]/g, '?').slice(0, 80);
}
