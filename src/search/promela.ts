// A model as Promela, for SPIN: the same variables, commands and invariants, read by an independent tool.
//
// One process loops over all commands. A command with few ways to choose is one `d_step` for each of them; one with many
// is an `atomic` that chooses value after value, and goes back to where it was when the guard then does not hold. SPIN
// keeps no state inside either, so it stores exactly the states of the model. What it reports relates to a complete
// search of ours like this (tests/search hold it to that):
//   states, stored   = states
//   transitions      = transitions + 1 (SPIN counts the initial state) + one for each state that breaks the invariant
//                      selected with -DINVARIANT=n, or that is excused from having no successor + one for each time a
//                      choice was taken back
//   errors           = states that break the selected invariant, or with `mayEnd` also deadlocks ("invalid end state")
// provided that pan is compiled with -DSAFETY -DNOREDUCE (all interleavings, here all commands) and without lossy
// storage, and run with -c0 (go on after an error), and -E (no deadlocks) where the model has no `mayEnd`. With -DSTEPS=n
// runs end after n steps: a shortest way to an error has n steps where n allow one and n - 1 do not.
import { checkModel } from './model/check.ts';
import type { Choice, Command, Expr, Model } from './model/form.ts';
import { readsOf } from './explore/expressions.ts';
import { mayFail, modelScope, withChoices, type Scope } from './model/ranges.ts';
import { numberOf, write, type Dialect } from './promela-expressions.ts';
import { Parts } from './promela-shared.ts';

/** Values in one page of a table. */
const PAGE = 4096;
/** With more assignments than this in all its ways a command is written with its choices, not once for each way. */
const MOST_WRITTEN_OUT = 96;

const HOW_TO_RUN = [
  '/* All states: spin -a FILE && gcc -w -DSAFETY -DNOREDUCE -o pan pan.c && ./pan -c0 -m8000000 -E',
  '   One invariant, by its number below: spin -a -DINVARIANT=0 FILE, or -DINVARIANT=ALL; runs of at most n steps: -DSTEPS=n */',
];

/** The whole model. Invariant n (from 0, in the model's order) is asserted with -DINVARIANT=n, each with ALL. */
export function promelaOf(model: Model): string {
  checkModel(model);
  const here: Dialect = { model, chosen: new Map(), choices: [], inC: false };
  const options = model.commands.flatMap((command) => writeCommand(command, model));
  const ends = model.mayEnd ? [`:: d_step { ${write(model.mayEnd, here)} -> skip }`] : [];
  return [
    `/* ${commentText(model.name)} */`,
    ...HOW_TO_RUN,
    ...writeTables(model),
    ...model.variables.map(({ name, size, initial }, i) => {
      return `${typeFor(size)} v${i} = ${initial}; /* ${commentText(name)}: 0 .. ${size - 1} */`;
    }),
    ...choiceNames(model).map((name) => `int ${name} = 0; /* being chosen; 0 between commands */`),
    `hidden int ${scratchNames(model).join(', ')};`,
    `#define ALL ${model.invariants.length}`,
    '#ifdef STEPS',
    'short steps = 0;',
    '#define MORE (steps < STEPS)',
    '#define COUNT steps = steps + 1',
    '#else',
    '#define MORE true',
    '#define COUNT skip',
    '#endif',
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
    `#if defined(INVARIANT) && (INVARIANT == ${i} || INVARIANT == ALL)`,
    `  :: d_step { !(${write(holds, here)}) -> assert(false) } /* ${commentText(name)} */`,
    '#endif',
  ]);
}

function writeCommand(command: Command, model: Model): string[] {
  const scope = withChoices(modelScope(model), command.choices);
  const most = command.choices.map(({ name }) => scope.choices.get(name)!.high + 1);
  const ways = most.reduce((product, size) => product * size, 1);
  if (ways * command.updates.length > MOST_WRITTEN_OUT && model.mayEnd === undefined) {
    return [`:: ${writeChoosing(command, model, scope)} /* ${commentText(command.name)} */`];
  }
  return writeWays(command, model, most, scope);
}

/** One option for each way to choose; ways that a state does not have are guarded by the size of the choice. */
function writeWays(
  command: Command,
  model: Model,
  most: readonly number[],
  scope: Scope,
): string[] {
  return waysToChoose(command.choices, most).map((chosen) => {
    const dialect = { model, chosen, choices: [], inC: false };
    const guards = command.choices
      .filter(({ size }) => size.kind !== 'constant')
      .map(({ name, size }) => `(${chosen.get(name)!} < ${write(size, dialect)})`);
    const guard = ['MORE', ...guards, write(command.guard, dialect)].join(' && ');
    const step = `${guard} -> ${writeUpdates(command, dialect, scope)}; COUNT`;
    return `:: d_step { ${step} } /* ${commentText(command.name)} */`;
  });
}

/** One option for all ways: the guard is tried as far as it can be after each choice. */
function writeChoosing(command: Command, model: Model, scope: Scope): string {
  const { choices } = command;
  const names = choices.map(({ name }) => name);
  const dialect = { model, chosen: new Map<string, number>(), choices: names, inC: false };
  const tests = testsByDepth(command, scope);
  const back = names.map((_, i) => `c${i} = 0`).join('; ');
  const from = (depth: number): string => {
    const guard = tests[depth]!.map((test) => write(test, dialect));
    if (depth === choices.length) {
      const all = guard.length === 0 ? 'true' : guard.join(' && ');
      return `d_step { ${all} -> ${writeUpdates(command, dialect, scope)}; ${back}; COUNT }`;
    }
    const size = write(choices[depth]!.size, dialect);
    const all = [...guard, `(0 < ${size})`].join(' && ');
    const choose = `do :: (c${depth} + 1 < ${size}) -> c${depth} = c${depth} + 1 :: break od`;
    return `${all} -> ${choose}; if :: ${from(depth + 1)} :: else -> d_step { ${back} } fi`;
  };
  return `atomic { MORE && ${from(0)} }`;
}

/** The parts of a guard, each where the choices it reads are made; what can go wrong stands last. */
function testsByDepth({ guard, choices }: Command, scope: Scope): Expr[][] {
  const tests = [...choices, undefined].map((): Expr[] => []);
  const parts = conjuncts(guard);
  for (const part of parts) {
    const read = readsOf(part).choices;
    const depth = 1 + choices.findLastIndex(({ name }) => read.has(name));
    if (!mayFail(part, scope)) tests[depth]!.push(part);
  }
  tests.at(-1)!.push(...parts.filter((part) => mayFail(part, scope)));
  return tests;
}

const conjuncts = (expr: Expr): Expr[] =>
  expr.kind === 'and' ? expr.of.flatMap(conjuncts) : [expr];

function waysToChoose(choices: readonly Choice[], most: readonly number[]): Map<string, number>[] {
  let ways = [new Map<string, number>()];
  for (const [i, { name }] of choices.entries()) {
    const values = Array.from({ length: most[i]! }, (_, value) => value);
    ways = ways.flatMap((way) => values.map((value) => new Map(way).set(name, value)));
  }
  return ways;
}

function choiceNames({ commands }: Model): string[] {
  const most = Math.max(0, ...commands.map(({ choices }) => choices.length));
  return Array.from({ length: most }, (_, i) => `c${i}`);
}

/** All values are computed before any is set, as the form asks; one that nothing else reads is set at once. */
function writeUpdates({ updates }: Command, dialect: Dialect, scope: Scope): string {
  const numbers = updates.map(({ variable }) => numberOf(variable, dialect));
  const values = updates.map(({ value }) => value);
  if (updates.length === 0) return 'skip';
  if (values.some((value) => readsOf(value).tables.size > 0)) {
    return `c_code { ${writeInC(numbers, values, { ...dialect, inC: true }, scope)} }`;
  }
  if (updates.length === 1 || values.every(({ kind }) => kind === 'constant')) {
    return values.map((value, i) => `v${numbers[i]} = ${write(value, dialect)}`).join('; ');
  }
  const computed = values.map((value, i) => `x${i} = ${write(value, dialect)}`);
  return [...computed, ...numbers.map((v, i) => `v${v} = x${i}`)].join('; ');
}

/** The same in C, what the values share computed once. */
function writeInC(numbers: number[], values: Expr[], outer: Dialect, scope: Scope): string {
  const parts = new Parts();
  const names = new Map<number, string>();
  const dialect = { ...outer, named: (expr: Expr) => names.get(parts.idOf(expr)) };
  const shared = parts.shared(values, scope).map((part, i) => {
    const written = `int s${i} = ${write(part, dialect)};`;
    names.set(parts.idOf(part), `s${i}`);
    return written;
  });
  const computed = values.map((value, i) => `int x${i} = ${write(value, dialect)};`);
  return [...shared, ...computed, ...numbers.map((v, i) => `now.v${v} = x${i};`)].join(' ');
}

function scratchNames({ commands }: Model): string[] {
  const most = Math.max(1, ...commands.map(({ updates }) => updates.length));
  return Array.from({ length: most }, (_, i) => `x${i}`);
}

/**
 * Constant tables live in C, outside the state. SPIN takes only so much C in one piece, and no calls in an expression:
 * the values come in pages, as macros of the C compiler.
 */
function writeTables({ tables }: Model): string[] {
  return tables.flatMap(({ values }, table) => {
    const pages = Array.from({ length: Math.ceil(values.length / PAGE) }, (_, page) => {
      const part = values.subarray(page * PAGE, (page + 1) * PAGE);
      return `c_decl {\n\\#define T${table}_${page} ${part.join(', ')}\n};`;
    });
    const all = pages.map((_, page) => `T${table}_${page}`).join(', ');
    return [...pages, `c_decl { static const int t${table}[] = { ${all} }; };`];
  });
}

function typeFor(size: number): string {
  if (size <= 2) return 'bit';
  if (size <= 256) return 'byte';
  return size <= 2 ** 15 ? 'short' : 'int';
}

/** Text that cannot end a comment, spread over lines, or start a directive. */
function commentText(text: string): string {
  return text.replaceAll(/[^\w .,:;()+-]/g, '?').slice(0, 80);
}
