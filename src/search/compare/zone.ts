// Which times the timers of a state may show: all solutions of bounds on the differences between them, as a matrix in
// its tightest form (Dill 1989, "Timing assumptions and verification of finite-state concurrent systems"). Clock 0 is
// zero; clock i > 0 is the time since timer i - 1 was started. A timer that has run out fires before time goes on.

/** `at[i * size + j]`: the most by which clock i may be ahead of clock j, in ms. */
export interface Zone {
  readonly size: number;
  readonly at: Float64Array;
}

/** Timers started just now. */
export function startZone(timers: number): Zone {
  const size = timers + 1;
  return { size, at: new Float64Array(size * size) };
}

/** Time goes on until one of the timers must fire; `lengths_ms` are theirs. */
export function wait({ size, at }: Zone, lengths_ms: readonly number[]): Zone {
  const later = Float64Array.from(at);
  for (let clock = 1; clock < size; clock++) later[clock * size] = lengths_ms[clock - 1]!;
  return tightened({ size, at: later })!;
}

/** The moments at which the timer runs out; null when another one always comes first. */
export function firing({ size, at }: Zone, timer: number, length_ms: number): Zone | null {
  const now = Float64Array.from(at);
  const clock = timer + 1;
  now[clock * size] = Math.min(now[clock * size]!, length_ms);
  now[clock] = Math.min(now[clock]!, -length_ms);
  return tightened({ size, at: now });
}

/** Timers after a step: each started by it (-1), or gone on from the one at that place. */
export function carried({ size, at }: Zone, from: readonly number[]): Zone {
  const clocks = [0, ...from.map((place) => place + 1)];
  const next = startZone(from.length);
  for (const [i, clock] of clocks.entries()) {
    for (const [j, other] of clocks.entries()) {
      next.at[i * next.size + j] = at[clock * size + other]!;
    }
  }
  return next;
}

/** Every time of `inner` is one of `outer`. */
export function within(inner: Zone, outer: Zone): boolean {
  for (let place = 0; place < inner.at.length; place++) {
    if (inner.at[place]! > outer.at[place]!) return false;
  }
  return true;
}

/** All-pairs shortest paths; null when no time is left. */
function tightened(zone: Zone): Zone | null {
  const { size, at } = zone;
  for (let via = 0; via < size; via++) {
    for (let i = 0; i < size; i++) {
      for (let j = 0; j < size; j++) {
        const sum = at[i * size + via]! + at[via * size + j]!;
        if (sum < at[i * size + j]!) at[i * size + j] = sum;
      }
    }
  }
  for (let i = 0; i < size; i++) if (at[i * size + i]! < 0) return null;
  return zone;
}
