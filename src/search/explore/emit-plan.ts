// The generated code of one command, in the shape its kind of step allows (step-kind.ts).
import type { Model, Update } from '../model/form.ts';
import { mayFail, rangeOf } from '../model/ranges.ts';
import { decodeInner } from './compile.ts';
import { emitInteger, emitTruth, localsOf } from './emit.ts';
import type { Emission } from './emit.ts';
import { readsOf } from './expressions.ts';
import type { Layout } from './layout.ts';
import type { Plan } from './plan.ts';
import { innerMask, innerNames, stepKind } from './step-kind.ts';
import type { StepKind } from './step-kind.ts';

interface Context {
  readonly plan: Plan;
  readonly model: Model;
  readonly layout: Layout;
  readonly emission: Emission;
}

/** What the code of a command does where it may be taken: the step itself, or only its notes with a condition. */
export type Doing = 'steps' | 'notes';

/** `decided` are variables whose tests need no code, because a switch above or the mask of inner values does them. */
export function emitPlan(
  plan: Plan,
  model: Model,
  layout: Layout,
  decided: ReadonlySet<number>,
  doing: Doing,
): string {
  const { command, scope, allowed, tests } = plan;
  const emission = { locals: localsOf(model, command.choices), scope };
  const context = { plan, model, layout, emission };
  const kind = stepKind(plan, model, layout);
  const conditions = [...allowed]
    .filter(([variable]) => !decided.has(variable))
    .map(([variable, values]) => emitMembership(`v${variable}`, values));
  const mask = innerMask(plan, model, layout);
  const chosen = `bits & ${mask}`;
  if (mask !== -1 && layout.innerBits > 0) conditions.push(`(${chosen}) !== 0`);
  if (kind.kind !== 'single') {
    const many = doing === 'notes' ? emitNotes(context, doing) : emitMany(context, kind);
    const body = emitLoops(context, tests, many);
    return guarded(conditions, `const b = ${layout.innerBits === 0 ? '1' : chosen}; ${body}`);
  }
  const inner = innerNames(model, layout);
  const early = tests[0]!.filter(
    (test) =>
      !mayFail(test, scope) && ![...readsOf(test).variables].some((name) => inner.has(name)),
  );
  conditions.push(...early.map((test) => emitTruth(test, emission)));
  const late = [tests[0]!.filter((test) => !early.includes(test)), ...tests.slice(1)];
  const one = doing === 'notes' ? emitNotes(context, doing) : emitOne(context);
  return guarded(
    conditions,
    `for (let left = ${chosen}; left !== 0; left &= left - 1) {
      const e = 31 - Math.clz32(left & -left);
      ${decodeInner(layout)}
      ${emitLoops(context, late, one)}
    }`,
  );
}

function guarded(conditions: readonly string[], body: string): string {
  const real = conditions.filter((condition) => condition !== 'true');
  return real.length === 0 ? `{ ${body} }` : `if (${real.join(' && ')}) { ${body} }`;
}

/** The choices as loops, each test as far out as it can stand. */
function emitLoops(
  { plan: { command }, emission }: Context,
  tests: Plan['tests'],
  body: string,
): string {
  let [head, tail] = ['', ''];
  for (const [depth, parts] of tests.entries()) {
    if (depth > 0) {
      const size = emitInteger(command.choices[depth - 1]!.size, emission);
      const [c, end] = [`c${depth - 1}`, `e${depth - 1}`];
      head += `for (let ${c} = 0, ${end} = ${size}; ${c} < ${end}; ${c}++) {`;
      tail = `}${tail}`;
    }
    if (parts.length === 0) continue;
    head += `if (${parts.map((part) => emitTruth(part, emission)).join(' && ')}) {`;
    tail = `}${tail}`;
  }
  return `${head} ${body} ${tail}`;
}

/** A test whether a variable has one of the allowed values, as cheap as their shape permits. */
function emitMembership(local: string, values: readonly boolean[]): string {
  const [first, last] = [values.indexOf(true), values.lastIndexOf(true)];
  const count = values.filter(Boolean).length;
  if (count === values.length) return 'true';
  if (count === 1) return `${local} === ${first}`;
  if (count === values.length - 1) return `${local} !== ${values.indexOf(false)}`;
  if (count === last - first + 1) {
    const bounds = first > 0 ? [`${local} >= ${first}`] : [];
    if (last < values.length - 1) bounds.push(`${local} <= ${last}`);
    return bounds.join(' && ');
  }
  if (values.length <= 32) {
    const mask = values.reduce((bits, holds, i) => (holds ? bits | (1 << i) : bits), 0);
    return `(${mask} >>> ${local} & 1) !== 0`;
  }
  const tests = values.flatMap((holds, i) => (holds ? [`${local} === ${i}`] : []));
  return `(${tests.join(' || ')})`;
}

/** All states of `b` at once. */
function emitMany(context: Context, { kind }: StepKind): string {
  const { plan, layout } = context;
  const { source, inner } = emitInner(context);
  const count = layout.innerBits === 0 ? '1' : 'countBits(b)';
  const counted = `fired[${plan.index}] += ${count}; moving |= b; ${emitNotes(context, 'steps')}`;
  if (kind === 'shared') return `{ ${emitKey(context, 'b')} ${counted} }`;
  const e = '31 - Math.clz32(left & -left)';
  const mapped = `${mapName(plan)}[${e}]`;
  const target = kind === 'mapped' ? mapped : `1 << (${e} & ${inner.kept} | ${inner.put})`;
  return `{ ${kind === 'mapped' ? '' : source}
    let r = 0;
    for (let left = b; left !== 0; left &= left - 1) r |= ${target};
    ${emitKey(context, 'r')} ${counted} }`;
}

/** One state, of inner values `e`. */
function emitOne(context: Context): string {
  const { source, inner } = emitInner(context);
  const key = emitKey(context, `1 << (e & ${inner.kept} | ${inner.put})`);
  const counted = `fired[${context.plan.index}]++; moving |= left & -left; ${emitNotes(context, 'steps')}`;
  return `{ ${source} ${key} ${counted} }`;
}

/**
 * Marks are only ever set: those of a constant place are not tried again. Conditions can be long; they stand in code of
 * their own, so that the steps stay small enough for the optimising compiler.
 */
function emitNotes({ plan, model, emission }: Context, doing: Doing): string {
  return (plan.command.notes ?? [])
    .filter(({ when }) => (when !== undefined) === (doing === 'notes'))
    .map(({ set, at, when }) => {
      const place = `${noteName(model, set)}[${emitInteger(at, emission)}]`;
      const mark = `${place} = 1;`;
      if (when === undefined) return mark;
      const open = at.kind === 'constant' ? `${place} === 0 && ` : '';
      return `if (${open}${emitTruth(when, emission)}) ${mark}`;
    })
    .join(' ');
}

/** The marks of a set of notes. */
export function noteName(model: Model, set: string): string {
  return `n${model.notes!.findIndex(({ name }) => name === set)}`;
}

/** The table of targets that a mapped step reads. */
export function mapName({ index }: Plan): string {
  return `m${index}`;
}

/** Computes the new inner values; they are `e & kept | put`. */
function emitInner(context: Context): { source: string; inner: { kept: number; put: string } } {
  const { plan, model, layout } = context;
  const updates = plan.command.updates.filter((update) => placeOf(context, update).inner);
  const source = updates.map((update) => emitValue(context, update)).join(' ');
  let kept = 2 ** layout.innerBits - 1;
  const put = updates.map((update) => {
    const { mask, shift } = placeOf(context, update);
    kept &= ~mask;
    return `x${numberOf(model, update)} << ${shift}`;
  });
  return { source, inner: { kept, put: ['0', ...put].join(' | ') } };
}

/** Writes the new key, of which only what an update touches is changed, and the bits. */
function emitKey(context: Context, bits: string): string {
  const { plan, model, layout } = context;
  const updates = plan.command.updates.filter((update) => !placeOf(context, update).inner);
  const lines = updates.map((update) => emitValue(context, update));
  for (let word = 0; word < layout.words; word++) {
    let kept = -1;
    let fresh = '';
    for (const update of updates) {
      const place = placeOf(context, update);
      if (place.word !== word) continue;
      kept &= ~place.mask;
      const { low, high } = rangeOf(update.value, plan.scope);
      fresh +=
        low === high
          ? ` | ${(low << place.shift) | 0}`
          : ` | x${numberOf(model, update)} << ${place.shift}`;
    }
    lines.push(`out[n + ${word}] = ${kept === -1 ? `w${word}` : `w${word} & ${kept}${fresh}`};`);
  }
  lines.push(`out[n + ${layout.words}] = ${bits}; n += ${layout.words + 1};`);
  return lines.join(' ');
}

/** A local with the new value, checked unless its range proves it right. */
function emitValue({ plan, model, emission }: Context, update: Update): string {
  const i = numberOf(model, update);
  const { size } = model.variables[i]!;
  const { low, high } = rangeOf(update.value, plan.scope);
  const check = low < 0 || high >= size ? ` if (x${i} >>> 0 >= ${size}) throw OUTSIDE;` : '';
  return `const x${i} = ${emitInteger(update.value, emission)};${check}`;
}

function numberOf({ variables }: Model, { variable }: Update): number {
  return variables.findIndex(({ name }) => name === variable);
}

function placeOf({ model, layout }: Context, update: Update): Layout['fields'][number] {
  return layout.fields[numberOf(model, update)]!;
}
