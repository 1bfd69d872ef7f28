// Generates the successor function of a model: one loop over packed states that decodes each once, goes through a tree
// of switches to the commands it could allow, and writes packed successors one behind the other. No calls, objects or
// closures in the loop.
import type { Model } from '../model/form.ts';
import { ModelError } from '../model/form.ts';
import { modelScope, rangeOf } from '../model/ranges.ts';
import { branch } from './dispatch.ts';
import type { Branching } from './dispatch.ts';
import { emitInteger, emitTruth, localsOf } from './emit.ts';
import type { Layout } from './layout.ts';
import type { Plan } from './plan.ts';

/** Thrown by generated code where a value or an index leaves its range; the interpreter then tells which. */
export const OUTSIDE = Symbol('outside its range');

/**
 * Writes the successors of states `from` to `to` − 1 of `store` into `out` from word `n` on and returns the word behind
 * the last. Counts steps in `fired`, and marks in `moved[i − from]` which states had any.
 */
export type Expand = (
  store: Int32Array,
  from: number,
  to: number,
  out: Int32Array,
  n: number,
  fired: Int32Array,
  moved: Uint8Array,
) => number;

/** For conditions that must hold: puts the first state that breaks each into `broken`, where none stands yet (−1). */
export type Judge = (
  store: Int32Array,
  from: number,
  to: number,
  broken: Int32Array,
  moved: Uint8Array,
) => void;

/**
 * The compiler of V8 gives up on functions of more than 60 kB of bytecode, which these stay far below; each part runs
 * over a whole batch.
 */
const MAXIMUM_SOURCE = 24_000;

export function generateExpanders(model: Model, layout: Layout, plans: readonly Plan[]): Expand[] {
  const parts: Plan[][] = [[]];
  let length = 0;
  for (const plan of plans) {
    const source = emitPlan(plan, model, layout, new Set()).length;
    if (length + source > MAXIMUM_SOURCE && length > 0) {
      parts.push([]);
      length = 0;
    }
    parts.at(-1)!.push(plan);
    length += source;
  }
  return parts.map((part) => {
    const body = emitBranching(branch(part), model, layout, new Set());
    return compile<Expand>(
      model,
      'store, from, to, out, n, fired, moved',
      `for (let i = from; i < to; i++) {
        const before = n;
        ${decode(layout)}
        ${body}
        if (n !== before) moved[i - from] = 1;
      }
      return n;`,
    );
  });
}

/** The judge of the invariants, in order, and then of `mayEnd`. */
export function generateJudge(model: Model, layout: Layout): Judge {
  const emission = { locals: localsOf(model), scope: modelScope(model) };
  const breaks = model.invariants.map(({ holds }) => `!${emitTruth(holds, emission)}`);
  if (model.mayEnd) {
    breaks.push(`moved[i - from] === 0 && !${emitTruth(model.mayEnd, emission)}`);
  }
  const tests = breaks.map((test, j) => `if (broken[${j}] < 0 && ${test}) broken[${j}] = i;`);
  return compile<Judge>(
    model,
    'store, from, to, broken, moved',
    `for (let i = from; i < to; i++) {
      ${decode(layout)}
      ${tests.join('\n')}
    }`,
  );
}

/** A function that sets `marks[i]` where a condition holds in state i. */
export function generateMarker(
  model: Model,
  layout: Layout,
  condition: string,
): (store: Int32Array, count: number, marks: Uint8Array) => void {
  return compile(
    model,
    'store, count, marks',
    `for (let i = 0; i < count; i++) {
      ${decode(layout)}
      if (${condition}) marks[i] = 1;
    }`,
  );
}

/** The most successors that a state can have. */
export function mostSuccessors(plans: readonly Plan[]): number {
  let most = 0;
  for (const { command, scope } of plans) {
    most += command.choices.reduce(
      (ways, { name }) => ways * (scope.choices.get(name)!.high + 1),
      1,
    );
  }
  return most;
}

function compile<F>(model: Model, parameters: string, body: string): F {
  const tables = model.tables.map((_, i) => `t${i}`);
  const source = `'use strict';
    function inside(at, size) { if (at >>> 0 >= size) throw OUTSIDE; return at; }
    return function (${parameters}) { ${body} };`;
  // eslint-disable-next-line no-new-func
  const make = new Function('OUTSIDE', ...tables, source) as (...given: unknown[]) => F;
  return make(OUTSIDE, ...model.tables.map(({ values }) => values));
}

function decode(layout: Layout): string {
  const lines = [`const at = Math.imul(i, ${layout.words});`];
  for (let word = 0; word < layout.words; word++)
    lines.push(`const w${word} = store[at + ${word}];`);
  for (const [i, { word, shift, bits }] of layout.fields.entries()) {
    const value = bits === 0 ? '0' : `w${word} >>> ${shift} & ${2 ** bits - 1}`;
    lines.push(`const v${i} = ${value};`);
  }
  return lines.join('\n');
}

function emitBranching(
  { plans, switches }: Branching,
  model: Model,
  layout: Layout,
  decided: ReadonlySet<number>,
): string {
  const parts = plans.map((plan) => emitPlan(plan, model, layout, decided));
  for (const { variable, cases } of switches) {
    const below = new Set(decided).add(variable);
    const arms = [...cases]
      .sort(([a], [b]) => a - b)
      .map(([value, branching]) => {
        return `case ${value}: { ${emitBranching(branching, model, layout, below)} break; }`;
      });
    parts.push(`switch (v${variable}) { ${arms.join('\n')} }`);
  }
  return parts.join('\n');
}

function emitPlan(plan: Plan, model: Model, layout: Layout, decided: ReadonlySet<number>): string {
  const { command, scope, tests, allowed } = plan;
  const emission = { locals: localsOf(model, command.choices), scope };
  const conditions = [...allowed]
    .filter(([variable]) => !decided.has(variable))
    .map(([variable, values]) => emitMembership(`v${variable}`, values))
    .filter((condition) => condition !== 'true');
  let head = '';
  let tail = '';
  for (const [depth, parts] of tests.entries()) {
    if (depth > 0) {
      const size = emitInteger(command.choices[depth - 1]!.size, emission);
      const [c, end] = [`c${depth - 1}`, `e${depth - 1}`];
      head += `for (let ${c} = 0, ${end} = ${size}; ${c} < ${end}; ${c}++) {`;
      tail = `}${tail}`;
    }
    const all = [
      ...(depth === 0 ? conditions : []),
      ...parts.map((part) => emitTruth(part, emission)),
    ];
    if (all.length === 0) continue;
    head += `if (${all.join(' && ')}) {`;
    tail = `}${tail}`;
  }
  return `${head} ${emitStep(plan, model, layout, emission)} ${tail}`;
}

/** A test whether a variable has one of the allowed values, as cheap as their shape permits. */
function emitMembership(local: string, values: readonly boolean[]): string {
  const [first, last] = [values.indexOf(true), values.lastIndexOf(true)];
  const count = values.filter(Boolean).length;
  if (count === values.length) return 'true';
  if (count === 1) return `${local} === ${first}`;
  if (count === values.length - 1) return `${local} !== ${values.indexOf(false)}`;
  if (count === last - first + 1) {
    const bounds = [first > 0 && `${local} >= ${first}`];
    if (last < values.length - 1) bounds.push(`${local} <= ${last}`);
    return bounds.filter(Boolean).join(' && ');
  }
  if (values.length <= 32) {
    const mask = values.reduce((bits, holds, i) => (holds ? bits | (1 << i) : bits), 0);
    return `(${mask} >>> ${local} & 1) !== 0`;
  }
  const tests = values.flatMap((holds, i) => (holds ? [`${local} === ${i}`] : []));
  return `(${tests.join(' || ')})`;
}

/** Writes the successor: only the words that an update touches are changed. */
function emitStep(
  { command, index, scope }: Plan,
  model: Model,
  layout: Layout,
  emission: Parameters<typeof emitInteger>[1],
): string {
  const lines: string[] = [];
  const kept = Array.from({ length: layout.words }, () => -1);
  const put = Array.from({ length: layout.words }, (): string[] => []);
  for (const { variable, value } of command.updates) {
    const i = model.variables.findIndex(({ name }) => name === variable);
    const { size } = model.variables[i]!;
    const { word, shift, mask } = layout.fields[i]!;
    const { low, high } = rangeOf(value, scope);
    if (high < 0 || low >= size)
      throw new ModelError(`command ${command.name} cannot set ${variable}`);
    lines.push(`const x${i} = ${emitInteger(value, emission)};`);
    if (low < 0 || high >= size) lines.push(`if (x${i} >>> 0 >= ${size}) throw OUTSIDE;`);
    kept[word]! &= ~mask;
    put[word]!.push(low === high ? `${(low << shift) | 0}` : `x${i} << ${shift}`);
  }
  for (let word = 0; word < layout.words; word++) {
    const fresh = put[word]!.map((part) => ` | ${part}`).join('');
    const old = kept[word] === -1 ? `w${word}` : `w${word} & ${kept[word]}`;
    lines.push(`out[n + ${word}] = ${old}${fresh};`);
  }
  lines.push(`n += ${layout.words}; fired[${index}]++;`);
  return `{ ${lines.join(' ')} }`;
}
