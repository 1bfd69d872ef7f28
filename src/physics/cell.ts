// Cells: an open-circuit curve, an inner resistance in series with two pairs of resistor and capacitor, and the limits
// and the heat of the cell. Charge in coulombs, charging currents positive.
//
// A CellDesign is data; parallel(design, n) is n such cells side by side; overpotential_V is the step response of one in
// closed form. A pack computes all of its cells at once (pack.ts).
import { LFP, MODEL_LIBRARY, NMC, type OpenCircuitCurve } from './open-circuit-voltage.ts';

/** A resistor beside a capacitor: tau_s is their product. */
export interface Relaxation {
  readonly resistance_ohm: number;
  readonly tau_s: number;
}

export interface CellDesign {
  readonly name: string;
  readonly curve: OpenCircuitCurve;
  readonly capacity_C: number;
  /** At 25 °C and half charged. */
  readonly series_ohm: number;
  readonly first: Relaxation;
  readonly second: Relaxation;
  /** How much larger all resistances are at 0 and at 100 % than at 50 %: the square of the distance is followed. */
  readonly riseAtEnds: number;
  /** End of charge and of discharge. */
  readonly highest_V: number;
  readonly lowest_V: number;
  readonly heatCapacity_J_per_K: number;
}

const HOUR_s = 3600;

/** No second pair. */
const NONE: Relaxation = { resistance_ohm: 0, tau_s: 1 };

/**
 * The demonstration set of PyBaMM's equivalent circuits, 100 Ah (confirmed): 0.4 mΩ, 0.6 mΩ with 30 s, 1.0 mΩ in all
 * rising to 1.2 mΩ at both ends, 3.2 V to 4.2 V. It is no particular cell; NMC's curve stands for its own, which is not
 * in the source read. Heat capacity of 1.5 kg at 1000 J/(kg·K), from memory.
 */
export const DEMONSTRATION: CellDesign = {
  name: 'demonstration set, 100 Ah',
  curve: NMC,
  capacity_C: 100 * HOUR_s,
  series_ohm: 0.4e-3,
  first: { resistance_ohm: 0.6e-3, tau_s: 30 },
  second: NONE,
  riseAtEnds: 0.2,
  highest_V: 4.2,
  lowest_V: 3.2,
  heatCapacity_J_per_K: 1500,
};

/**
 * The example of the Modelica Standard Library's Electrical.Batteries, 5 Ah (confirmed): 4.2 V / 1200 A = 3.5 mΩ, 70 % in
 * series, 20 % with 60 s, 10 % with 10 s. Its self-discharge of 1 mA is left out. Heat capacity of 70 g at
 * 1000 J/(kg·K), from memory.
 */
export const MODEL_LIBRARY_CELL: CellDesign = {
  name: 'model library, 5 Ah',
  curve: MODEL_LIBRARY,
  capacity_C: 5 * HOUR_s,
  series_ohm: 0.7 * 3.5e-3,
  first: { resistance_ohm: 0.2 * 3.5e-3, tau_s: 60 },
  second: { resistance_ohm: 0.1 * 3.5e-3, tau_s: 10 },
  riseAtEnds: 0,
  highest_V: 4.2,
  lowest_V: 2.5,
  heatCapacity_J_per_K: 70,
};

/**
 * A large NMC cell of 60 Ah: 0.75 mΩ in series, 0.45 mΩ with 40 s, the middle of what is usual (from memory); limits from a
 * trade article on cell datasheets (4.2 V) and Chen et al. (2020) (2.5 V), confirmed. 0.9 kg at 1000 J/(kg·K), from memory.
 */
export const NMC_60_AH: CellDesign = {
  name: 'NMC, 60 Ah',
  curve: NMC,
  capacity_C: 60 * HOUR_s,
  series_ohm: 0.75e-3,
  first: { resistance_ohm: 0.45e-3, tau_s: 40 },
  second: NONE,
  riseAtEnds: 0.2,
  highest_V: 4.2,
  lowest_V: 2.5,
  heatCapacity_J_per_K: 900,
};

/**
 * A prismatic LFP cell of 202 Ah: 0.2 mΩ, 3.65 V and 2.5 V from a public product specification of 2020 (confirmed);
 * 0.15 mΩ with 60 s, and 4 kg at 1000 J/(kg·K), from memory.
 */
export const LFP_202_AH: CellDesign = {
  name: 'LFP, 202 Ah',
  curve: LFP,
  capacity_C: 202 * HOUR_s,
  series_ohm: 0.2e-3,
  first: { resistance_ohm: 0.15e-3, tau_s: 60 },
  second: NONE,
  riseAtEnds: 0.2,
  highest_V: 3.65,
  lowest_V: 2.5,
  heatCapacity_J_per_K: 4000,
};

/** `count` cells side by side, as one. */
export function parallel(design: CellDesign, count: number): CellDesign {
  if (!(Number.isInteger(count) && count > 0)) {
    throw new RangeError(`cells in parallel must be a whole number above 0, not ${count}`);
  }
  const share = ({ resistance_ohm, tau_s }: Relaxation): Relaxation => ({
    resistance_ohm: resistance_ohm / count,
    tau_s,
  });
  return {
    ...design,
    name: `${count} × ${design.name}`,
    capacity_C: design.capacity_C * count,
    series_ohm: design.series_ohm / count,
    first: share(design.first),
    second: share(design.second),
    heatCapacity_J_per_K: design.heatCapacity_J_per_K * count,
  };
}

/** J/(mol·K), exact by the SI of 2019. */
const GAS_CONSTANT = 8.314462618;
/** J/mol, of every resistance. PyBaMM's demonstration set (confirmed). */
const ACTIVATION = 20_000;
/** 25 °C, at which the resistances are given. */
const REFERENCE_K = 298.15;
export const ZERO_CELSIUS_K = 273.15;

/** By how much all resistances are larger than at 25 °C (Arrhenius). */
export function resistanceFactor(temperature_C: number): number {
  const temperature_K = temperature_C + ZERO_CELSIUS_K;
  return Math.exp((ACTIVATION / GAS_CONSTANT) * (1 / temperature_K - 1 / REFERENCE_K));
}

/** By how much all resistances are larger than half charged. */
export function endsFactor(design: CellDesign, stateOfCharge: number): number {
  const fromMiddle = 2 * stateOfCharge - 1;
  return 1 + design.riseAtEnds * fromMiddle * fromMiddle;
}

/** Voltage above the open circuit, `elapsed_s` after a step from rest to `current_A`. */
export function overpotential_V(design: CellDesign, current_A: number, elapsed_s: number): number {
  const { series_ohm, first, second } = design;
  const grown_ohm = ({ resistance_ohm, tau_s }: Relaxation): number =>
    -resistance_ohm * Math.expm1(-elapsed_s / tau_s);
  return current_A * (series_ohm + grown_ohm(first) + grown_ohm(second));
}
