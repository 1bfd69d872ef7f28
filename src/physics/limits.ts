// How much a pack may take or give: the strictest of its cells' voltages and temperatures.
//
//   arrayCellLimit_V(limits)                        the voltage at which every cell is run when they could be run apart
//   chargeRate_perHour(bands, coldest_C, hottest_C) capacities an hour; 0 is never
//   chargeLimit(pack, bands)                        { current_A, by: 'voltage' | 'temperature' }
//   filling(pack, bands, wanted_A)                  constant current first, then what holds the highest cell at its limit
import type { Pack } from './pack.ts';

/** Charging in a band of cell temperatures, in capacities an hour (1C is 1). */
export interface TemperatureBand {
  readonly from_C: number;
  readonly to_C: number;
  readonly rate_perHour: number;
}

/**
 * Fast continuous charging: the operation manual of a 48 V, 50 Ah LFP module, tables 4.3 and 4.4 (confirmed); 50 to 60 °C
 * from the standard charge of the same table, as none is given for fast.
 */
export const LFP_FAST_CHARGE: readonly TemperatureBand[] = [
  { from_C: 5, to_C: 10, rate_perHour: 0.2 },
  { from_C: 10, to_C: 25, rate_perHour: 1 },
  { from_C: 25, to_C: 50, rate_perHour: 0.75 },
  { from_C: 50, to_C: 60, rate_perHour: 0.1 },
];

/** The same manual, standard charge (confirmed). */
export const LFP_STANDARD_CHARGE: readonly TemperatureBand[] = [
  { from_C: 0, to_C: 10, rate_perHour: 0.1 },
  { from_C: 10, to_C: 25, rate_perHour: 0.2 },
  { from_C: 25, to_C: 50, rate_perHour: 0.5 },
  { from_C: 50, to_C: 60, rate_perHour: 0.1 },
];

/**
 * NMC in vehicles: 0 to 45 °C, much less below 10 °C, none below 0 °C for fear of lithium plating (from memory); how much
 * less is our choice.
 */
export const NMC_FAST_CHARGE: readonly TemperatureBand[] = [
  { from_C: 0, to_C: 10, rate_perHour: 0.3 },
  { from_C: 10, to_C: 45, rate_perHour: 1.5 },
];

/** Where the best cell could be run at 3.3 V and the worst at 3.1 V, the array is run at 3.1 V (common practice). */
export function arrayCellLimit_V(limits_V: readonly number[]): number {
  if (limits_V.length === 0) throw new RangeError('an array without cells has no limit');
  return Math.min(...limits_V);
}

/** The least of what the coldest and the hottest cell bear, and of what lies between them. */
export function chargeRate_perHour(
  bands: readonly TemperatureBand[],
  coldest_C: number,
  hottest_C: number,
): number {
  const first = bands[0];
  const last = bands.at(-1);
  if (first === undefined || last === undefined) return 0;
  if (!(coldest_C >= first.from_C && hottest_C <= last.to_C)) return 0;
  let least = Infinity;
  for (const { from_C, to_C, rate_perHour } of bands) {
    if (coldest_C < to_C && hottest_C >= from_C) least = Math.min(least, rate_perHour);
  }
  return least === Infinity ? last.rate_perHour : least;
}

export interface ChargeLimit {
  readonly current_A: number;
  readonly by: 'voltage' | 'temperature' | 'wish';
}

/** What the weakest cell allows now: by its voltage limit, or by the temperatures and the smallest capacity. */
export function chargeLimit(pack: Pack, bands: readonly TemperatureBand[]): ChargeLimit {
  const rate_perHour = chargeRate_perHour(bands, pack.coldest_C, pack.hottest_C);
  const smallest_C = pack.capacity_C.reduce((a, b) => Math.min(a, b));
  const byTemperature_A = (rate_perHour * smallest_C) / 3600;
  const byVoltage_A = pack.highestChargeCurrent_A(pack.design.highest_V);
  return byVoltage_A <= byTemperature_A
    ? { current_A: byVoltage_A, by: 'voltage' }
    : { current_A: byTemperature_A, by: 'temperature' };
}

/** Filling is controlled by current (`wish`, `temperature`), topping off by the highest cell's voltage. */
export function filling(
  pack: Pack,
  bands: readonly TemperatureBand[],
  wanted_A: number,
): ChargeLimit {
  const limit = chargeLimit(pack, bands);
  return limit.current_A < wanted_A ? limit : { current_A: wanted_A, by: 'wish' };
}

/** A cell charged to its limit counts as full when the current has fallen to a twentieth of its capacity (from memory). */
export const FULL_RATE_perHour = 0.05;
