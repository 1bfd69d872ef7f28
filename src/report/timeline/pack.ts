// Columns of values as compact JSON: runs where values repeat, differences where they move little.
import type { Json } from '../../trace/observation.ts';

/**
 * Plain values; `r`, each value with how often it stands in a row; or `d`, differences of whole numbers (themselves
 * packed), the first from zero, all to be divided by `s`.
 */
export type Packed = Json[] | { r: Json[]; n: number[] } | { d: Packed; s: number };

/** Runs are worth it where there are at most this many of a hundred values. */
const RUNS_OF_A_HUNDRED = 40;
/** Figures with at most three decimals become whole numbers. */
const SCALES = [1, 10, 100, 1000];
const LARGEST = 2 ** 52;

export function pack(values: readonly Json[]): Packed {
  const runs = packRuns(values);
  if (runs !== null) return runs;
  const scale = scaleOf(values);
  if (scale === null || values.length < 8) return [...values];
  let before = 0;
  const differences = (values as readonly number[]).map((value) => {
    const whole = Math.round(value * scale);
    const difference = whole - before;
    before = whole;
    return difference;
  });
  return { d: packRuns(differences) ?? differences, s: scale };
}

function packRuns(values: readonly Json[]): Packed | null {
  if (values.length < 4) return null;
  const most = (values.length * RUNS_OF_A_HUNDRED) / 100;
  const r: Json[] = [];
  const n: number[] = [];
  for (const value of values) {
    if (r.length > 0 && r[r.length - 1] === value) n[n.length - 1]! += 1;
    else {
      r.push(value);
      n.push(1);
      if (r.length > most) return null;
    }
  }
  return { r, n };
}

/** The smallest scale at which all are whole numbers; null when some are no numbers, or none does. */
function scaleOf(values: readonly Json[]): number | null {
  let at = 0;
  for (const value of values) {
    if (typeof value !== 'number') return null;
    while (at < SCALES.length && !isWhole(value, SCALES[at]!)) at += 1;
    if (at === SCALES.length) return null;
  }
  return SCALES[at]!;
}

/** Exactly: the division gives the same number back. */
function isWhole(value: number, scale: number): boolean {
  const whole = Math.round(value * scale);
  return Math.abs(whole) < LARGEST && whole / scale === value;
}

/** The inverse of `pack`. */
export function unpack(packed: Packed): Json[] {
  if (Array.isArray(packed)) return packed;
  if ('r' in packed) {
    const values: Json[] = [];
    for (const [index, value] of packed.r.entries()) {
      for (let times = packed.n[index]!; times > 0; times -= 1) values.push(value);
    }
    return values;
  }
  const { d, s } = packed;
  let whole = 0;
  return unpack(d).map((difference) => {
    whole += difference as number;
    return whole / s;
  });
}
