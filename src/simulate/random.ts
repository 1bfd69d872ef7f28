/** Numbers from 0 to below 1, the same ones for the same seed on every machine. */
export type Random = () => number;

/** Mulberry32 by T. Ettinger (public domain): 32 bits of state, more than a simulation draws on. */
export function createRandom(seed: number): Random {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 15), state | 1);
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61);
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4_294_967_296;
  };
}
