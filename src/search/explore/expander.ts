// Generates the successor function of a model: one loop over the entries of a level that decodes each key once, goes
// through a tree of switches to the commands it could allow, and writes keys with bits of inner values one behind the
// other. No calls, objects or closures in the loop.
import type { Command, Expr, Model, Note } from '../model/form.ts';
import { modelScope } from '../model/ranges.ts';
import { compile, decodeInner, decodeKey } from './compile.ts';
import { branch } from './dispatch.ts';
import type { Branching } from './dispatch.ts';
import { emitTruth, localsOf } from './emit.ts';
import { emitPlan, mapName, noteName } from './emit-plan.ts';
import type { Doing } from './emit-plan.ts';
import { readsOf } from './expressions.ts';
import type { Layout } from './layout.ts';
import type { Plan } from './plan.ts';
import { innerNames, stepKind } from './step-kind.ts';

/**
 * Writes what follows from entries `from` to `to` − 1 of `log` into `out` from word `n` on, as keys with one word of
 * bits, and returns the word behind the last. Counts steps in `fired`, and puts the bits of each entry that had a step
 * into `moved[i − from]`.
 */
export type Expand = (
  rows: Int32Array,
  log: Int32Array,
  from: number,
  to: number,
  out: Int32Array,
  n: number,
  fired: Int32Array,
  moved: Int32Array,
) => number;

/** Puts the first state that breaks each condition (entry × 32 + inner) into `broken`, where none stands yet (−1). */
export type Judge = (
  rows: Int32Array,
  log: Int32Array,
  from: number,
  to: number,
  broken: Float64Array,
  moved: Int32Array,
) => void;

/**
 * V8's optimising compiler gives up on functions of more than 60 kB of bytecode; parts of this many characters stay far
 * below. Each part runs over a whole batch.
 */
const MAXIMUM_SOURCE = 24_000;

/** Marks by the name of their set. */
export type Marks = ReadonlyMap<string, Uint8Array>;

export function generateExpanders(
  model: Model,
  layout: Layout,
  plans: readonly Plan[],
  marks: Marks,
): Expand[] {
  return partsOf(plans, model, layout, 'steps').map((part) =>
    compile<Expand>(
      model,
      'rows, log, from, to, out, n, fired, moved',
      `for (let i = from; i < to; i++) {
        const bits = log[2 * i + 1];
        let moving = 0;
        ${decodeKey(layout)}
        ${emitPart(part, model, layout, 'steps')}
        moved[i - from] |= moving;
      }
      return n;`,
      new Map<string, Int32Array | Uint8Array>([
        ...mapsOf(part, model, layout),
        ...marksOf(model, marks),
      ]),
    ),
  );
}

/** Tries the notes with a condition of a few commands on entries `from` to `to` − 1. */
export interface Watch {
  readonly run: (rows: Int32Array, log: Int32Array, from: number, to: number) => void;
  /** False once every place it may mark is marked. */
  open(): boolean;
}

export function generateWatches(
  model: Model,
  layout: Layout,
  plans: readonly Plan[],
  marks: Marks,
): Watch[] {
  const watching = plans.filter(({ command }) => conditional(command).length > 0);
  return partsOf(watching, model, layout, 'notes').map((part) => {
    const places = part.flatMap(({ command }) => conditional(command));
    return {
      run: compile<Watch['run']>(
        model,
        'rows, log, from, to',
        `for (let i = from; i < to; i++) {
          const bits = log[2 * i + 1];
          ${decodeKey(layout)}
          ${emitPart(part, model, layout, 'notes')}
        }`,
        new Map(marksOf(model, marks)),
      ),
      open: () =>
        places.some(({ set, at }) => at.kind !== 'constant' || marks.get(set)![at.value] === 0),
    };
  });
}

const conditional = ({ notes = [] }: Command): Note[] =>
  notes.filter(({ when }) => when !== undefined);

function innerOf({ fields }: Layout): Set<number> {
  return new Set(fields.flatMap((field, i) => (field.inner ? [i] : [])));
}

/** As many commands together as the compiler takes. */
function partsOf(plans: readonly Plan[], model: Model, layout: Layout, doing: Doing): Plan[][] {
  const inner = innerOf(layout);
  const parts: Plan[][] = [];
  let length = Infinity;
  for (const plan of plans) {
    const source = emitPlan(plan, model, layout, inner, doing).length;
    if (length + source > MAXIMUM_SOURCE) {
      parts.push([]);
      length = 0;
    }
    parts.at(-1)!.push(plan);
    length += source;
  }
  return parts;
}

function emitPart(part: readonly Plan[], model: Model, layout: Layout, doing: Doing): string {
  const inner = innerOf(layout);
  return emitBranching(branch(part, inner), model, layout, inner, doing);
}

function marksOf(model: Model, marks: Marks): [string, Uint8Array][] {
  return [...marks].map(([set, places]) => [noteName(model, set), places]);
}

function mapsOf(plans: readonly Plan[], model: Model, layout: Layout): Map<string, Int32Array> {
  const maps = new Map<string, Int32Array>();
  for (const plan of plans) {
    const kind = stepKind(plan, model, layout);
    if (kind.kind === 'mapped') maps.set(mapName(plan), kind.targets);
  }
  return maps;
}

/** The judge of the invariants, in order, and then of `mayEnd`. */
export function generateJudge(model: Model, layout: Layout): Judge {
  const emission = { locals: localsOf(model), scope: modelScope(model) };
  const inner = innerNames(model, layout);
  const tests = model.invariants.map(({ holds }, j) => {
    const single = [...readsOf(holds).variables].some((name) => inner.has(name));
    return emitJudgement(j, 'bits', `!${emitTruth(holds, emission)}`, single, layout);
  });
  if (model.mayEnd) {
    const stuck = `!${emitTruth(model.mayEnd, emission)}`;
    tests.push(emitJudgement(tests.length, 'bits & ~moved[i - from]', stuck, true, layout));
  }
  return compile<Judge>(
    model,
    'rows, log, from, to, broken, moved',
    `for (let i = from; i < to; i++) {
      const bits = log[2 * i + 1];
      ${decodeKey(layout)}
      ${tests.join('\n')}
    }`,
  );
}

/** Sets `marks[i]` for each of the first `count` entries whose state fulfils a condition; for a layout without inner. */
export type Mark = (rows: Int32Array, log: Int32Array, count: number, marks: Uint8Array) => void;

export function generateMark(model: Model, layout: Layout, condition: Expr): Mark {
  const emission = { locals: localsOf(model), scope: modelScope(model) };
  return compile<Mark>(
    model,
    'rows, log, count, marks',
    `for (let i = 0; i < count; i++) {
      ${decodeKey(layout)}
      if (${emitTruth(condition, emission)}) marks[i] = 1;
    }`,
  );
}

function emitJudgement(
  j: number,
  bits: string,
  breaks: string,
  single: boolean,
  layout: Layout,
): string {
  const note = `broken[${j}] = i * 32 + e;`;
  if (!single) {
    return `if (broken[${j}] < 0 && ${breaks}) { const e = 31 - Math.clz32(bits & -bits); ${note} }`;
  }
  return `if (broken[${j}] < 0) {
    for (let left = ${bits}; left !== 0; left &= left - 1) {
      const e = 31 - Math.clz32(left & -left);
      ${decodeInner(layout)}
      if (${breaks}) { ${note} break; }
    }
  }`;
}

function emitBranching(
  { plans, switches }: Branching,
  model: Model,
  layout: Layout,
  decided: ReadonlySet<number>,
  doing: Doing,
): string {
  const parts = plans.map((plan) => emitPlan(plan, model, layout, decided, doing));
  for (const { variable, cases } of switches) {
    const below = new Set(decided).add(variable);
    const arms = [...cases]
      .sort(([a], [b]) => a - b)
      .map(([value, branching]) => {
        return `case ${value}: { ${emitBranching(branching, model, layout, below, doing)} break; }`;
      });
    parts.push(`switch (v${variable}) { ${arms.join('\n')} }`);
  }
  return parts.join('\n');
}
