import type { Pack } from '../physics/pack.ts';

/** What the plant needs of a battery pack: a Pack, or something lighter. */
export type PackModel = Pick<
  Pack,
  | 'step'
  | 'restVoltage_V'
  | 'resistance_ohm'
  | 'lowestCell_V'
  | 'highestCell_V'
  | 'hottest_C'
  | 'coldest_C'
  | 'stateOfCharge'
>;
