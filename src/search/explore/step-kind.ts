// How a command acts on the inner variables (layout.ts), and so how many states one run of its code can move.
import { evaluate } from '../model/evaluate.ts';
import type { Expr, Model, Update } from '../model/form.ts';
import { ModelError } from '../model/form.ts';
import { readsOf } from './expressions.ts';
import { stateOf } from './layout.ts';
import type { Layout } from './layout.ts';
import type { Plan } from './plan.ts';

export type StepKind =
  /** Leaves inner variables alone, but for testing each on its own. */
  | { readonly kind: 'shared' }
  /** Sets them depending on nothing but themselves: `targets[e]` is the bit that inner values e become. */
  | { readonly kind: 'mapped'; readonly targets: Int32Array }
  /** Sets them to values that are the same for all of them. */
  | { readonly kind: 'assigned' }
  /** Anything else: one state at a time. */
  | { readonly kind: 'single' };

export function stepKind(plan: Plan, model: Model, layout: Layout): StepKind {
  const { command, tests } = plan;
  const inner = innerNames(model, layout);
  const touches = (expr: Expr): boolean =>
    [...readsOf(expr).variables].some((name) => inner.has(name));
  const outside = [
    ...tests.flat(),
    ...command.choices.map(({ size }) => size),
    ...command.updates.filter(({ variable }) => !inner.has(variable)).map(({ value }) => value),
    ...(command.notes ?? []).flatMap(({ at, when }) => (when === undefined ? [at] : [at, when])),
  ];
  if (outside.some(touches)) return { kind: 'single' };
  const updates = command.updates.filter(({ variable }) => inner.has(variable));
  if (updates.length === 0) return { kind: 'shared' };
  const targets = mapInner(updates, inner, innerMask(plan, model, layout), model, layout);
  if (targets !== undefined) return { kind: 'mapped', targets };
  return updates.some(({ value }) => touches(value)) ? { kind: 'single' } : { kind: 'assigned' };
}

export function innerNames(model: Model, layout: Layout): Set<string> {
  const inner = model.variables.filter((_, i) => layout.fields[i]!.inner);
  return new Set(inner.map(({ name }) => name));
}

/** The combinations of inner values that exist and that a plan's tests of single variables allow, as bits. */
export function innerMask({ allowed }: Plan, { variables }: Model, layout: Layout): number {
  let mask = 0;
  for (let e = 0; e < 2 ** layout.innerBits; e++) {
    const fits = layout.fields.every((place, i) => {
      const value = (e & place.mask) >>> place.shift;
      return !place.inner || (value < variables[i]!.size && (allowed.get(i)?.[value] ?? true));
    });
    if (fits) mask |= 1 << e;
  }
  return mask;
}

/** Nothing when a value reads more than inner variables, or could leave its range. */
function mapInner(
  updates: readonly Update[],
  inner: ReadonlySet<string>,
  mask: number,
  model: Model,
  layout: Layout,
): Int32Array | undefined {
  for (const { value } of updates) {
    const { variables, choices } = readsOf(value);
    if (choices.size > 0 || [...variables].some((name) => !inner.has(name))) return undefined;
  }
  const targets = new Int32Array(2 ** layout.innerBits);
  const key = new Int32Array(layout.words);
  for (let e = 0; e < targets.length; e++) {
    if (((mask >>> e) & 1) === 0) continue;
    const state = stateOf(layout, key, 0, e);
    let target = e;
    for (const { variable, value } of updates) {
      const i = model.variables.findIndex(({ name }) => name === variable);
      const result = tryEvaluate(value, model, state);
      if (result === undefined || result < 0 || result >= model.variables[i]!.size)
        return undefined;
      const place = layout.fields[i]!;
      target = (target & ~place.mask) | (result << place.shift);
    }
    targets[e] = 1 << target;
  }
  return targets;
}

function tryEvaluate(expr: Expr, model: Model, state: readonly number[]): number | undefined {
  try {
    return evaluate(expr, { model, state, chosen: new Map() });
  } catch (error) {
    if (error instanceof ModelError) return undefined;
    throw error;
  }
}
