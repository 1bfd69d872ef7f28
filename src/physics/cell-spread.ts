// How the cells of a pack differ: normal deviations of capacity, resistance and state of charge.

export interface CellSpread {
  /**
   * Standard deviations: shares of the design's capacity and resistance, below a third, and of the state of charge itself.
   */
  readonly capacity?: number;
  readonly resistance?: number;
  readonly stateOfCharge?: number;
}

/** What each cell has of something, around the middle. */
export type Draw = (middle: number, deviation: number) => Float64Array;

/** `random` gives numbers from 0 to below 1; without a deviation it is not asked. */
export function drawCells(cells: number, spread: CellSpread, random?: () => number): Draw {
  if (!((spread.capacity ?? 0) < 1 / 3 && (spread.resistance ?? 0) < 1 / 3)) {
    throw new RangeError('a spread of a third or more makes cells below nothing');
  }
  return (middle, deviation) =>
    Float64Array.from({ length: cells }, () =>
      deviation > 0 ? middle + deviation * normal(random) : middle,
    );
}

/** By Box and Muller (1958), held to three deviations. */
function normal(random: (() => number) | undefined): number {
  if (random === undefined) throw new RangeError('a spread needs a source of random numbers');
  const radius = Math.sqrt(-2 * Math.log(1 - random()));
  return Math.max(-3, Math.min(3, radius * Math.cos(2 * Math.PI * random())));
}
