// Picks the inner variables of a layout by what a first stretch of the search found: those of which many combinations
// occur together, and which most steps leave alone. A bad pick costs time, never correctness.
import { MAXIMUM_INNER_BITS, bitsOf, layoutOf } from './layout.ts';
import type { Search } from './search.ts';
import { stepKind } from './step-kind.ts';

const MAXIMUM_SAMPLE = 2 ** 16;
/** Bits to count distinct keys with: far more than there are keys, so that few fall together. */
const COUNTING_BITS = 2 ** 21;
/** A further variable must lower the estimated work to this share, and a new layout to the other. */
const WORTH_A_VARIABLE = 0.95;
const WORTH_A_RESTART = 0.8;

/** Numbers of variables, or nothing when the layout is good as it is. Deterministic for a given search. */
export function betterInner(search: Search): Set<number> | undefined {
  const { variables } = search.model;
  const sample = sampleOf(search);
  const counting = new Int32Array(COUNTING_BITS / 32);
  const workWith = (inner: ReadonlySet<number>, keys: Int32Array, without?: Int32Array): number => {
    const rows = distinct(keys, without, sample.noLevels, counting);
    const entries = distinct(keys, without, sample.levels, counting);
    return workOf(search, inner, (rows + entries) / 2 / keys.length);
  };
  const now = new Set(search.layout.fields.flatMap((field, i) => (field.inner ? [i] : [])));
  const current = workWith(now, keysWithout(sample, now));
  let inner = new Set<number>();
  let work = Infinity;
  for (;;) {
    const keys = keysWithout(sample, inner);
    work = Math.min(work, workWith(inner, keys));
    let best: { inner: Set<number>; work: number; gain: number } | undefined;
    for (const [variable, parts] of variables.entries()) {
      const wider = new Set(inner).add(variable);
      const bits = [...wider].reduce((sum, i) => sum + bitsOf(variables[i]!), 0);
      if (parts.size === 1 || inner.has(variable) || bits > MAXIMUM_INNER_BITS) continue;
      const wouldBe = workWith(wider, keys, sample.terms[variable]);
      if (wouldBe > work * WORTH_A_VARIABLE) continue;
      // Bits are what is scarce: several small variables may do more than one large one.
      const gain = Math.log(work / wouldBe) / bitsOf(parts);
      if (gain > (best?.gain ?? 0)) best = { inner: wider, work: wouldBe, gain };
    }
    if (best === undefined) break;
    ({ inner, work } = best);
  }
  return work < current * WORTH_A_RESTART ? inner : undefined;
}

/**
 * Keys to write and entries to read. What counts for them lies between rows and entries: a small sample shows fewer
 * states of one level in a row than there will be.
 */
function workOf(search: Search, inner: ReadonlySet<number>, entriesPerState: number): number {
  const layout = layoutOf(search.model.variables, inner);
  let work = search.store.states * entriesPerState;
  for (const plan of search.plans) {
    const single = stepKind(plan, search.model, layout).kind === 'single';
    work += search.fired[plan.index]! * (single ? 1 : entriesPerState);
  }
  return work;
}

interface Sample {
  readonly keys: Int32Array;
  /** What each variable adds to the key of each state, modulo 2^32. */
  readonly terms: readonly Int32Array[];
  /** What the level of each state adds where levels count, and where not. */
  readonly levels: Int32Array;
  readonly noLevels: Int32Array;
}

/** The last states that were expanded, side by side as they were found. */
function sampleOf(search: Search): Sample {
  const { store, model } = search;
  const states: (readonly number[])[] = [];
  const levels: number[] = [];
  for (let entry = search.next - 1; entry >= 0 && states.length < MAXIMUM_SAMPLE; entry--) {
    const level = store.levels.findLastIndex((start) => start <= entry);
    for (const id of search.statesOf(entry)) {
      states.push(search.state(id));
      levels.push(scramble(level, 0));
    }
  }
  const terms = model.variables.map((_, i) =>
    Int32Array.from(states, (state) => scramble(state[i]! + 1, i + 1)),
  );
  const keys = new Int32Array(states.length);
  for (const term of terms) {
    for (let s = 0; s < keys.length; s++) keys[s]! += term[s]!;
  }
  return { keys, terms, levels: Int32Array.from(levels), noLevels: new Int32Array(keys.length) };
}

function keysWithout({ keys, terms }: Sample, inner: ReadonlySet<number>): Int32Array {
  const left = Int32Array.from(keys);
  for (const variable of inner) {
    const term = terms[variable]!;
    for (let s = 0; s < left.length; s++) left[s]! -= term[s]!;
  }
  return left;
}

/** About how many different keys there are, with a variable's terms taken out and levels put in. */
function distinct(
  keys: Int32Array,
  without: Int32Array | undefined,
  levels: Int32Array,
  counting: Int32Array,
): number {
  counting.fill(0);
  let count = 0;
  for (let s = 0; s < keys.length; s++) {
    const key = keys[s]! + levels[s]! - (without === undefined ? 0 : without[s]!);
    const slot = scramble(key, 0) >>> 11;
    const bit = 1 << slot;
    if ((counting[slot >>> 5]! & bit) !== 0) continue;
    counting[slot >>> 5]! |= bit;
    count++;
  }
  return count;
}

/** A pseudo-random 32-bit number for a pair; what it must be is well mixed, not secret. */
function scramble(a: number, b: number): number {
  const mixed = Math.imul(a, 0x9e3779b1) ^ Math.imul(b, 0x85ebca6b);
  const more = Math.imul(mixed ^ (mixed >>> 15), 0x2c1b3c6d);
  return Math.imul(more ^ (more >>> 12), 0x297a2d39) ^ (more >>> 15);
}
