// Isolation resistance of a d.c. circuit to its chassis or protective earth: what instruments read of it, and what
// follows from their readings. Volts and ohms.
//
// Two figures go by the same name. The two-reading method of UN R100 gives the smaller of the two rails' resistances; a
// monitor reports both rails in parallel, which is less. Compare them only after parallel_ohm.

export type Pole = 'negative' | 'positive';

/** One voltmeter's readings by the two-reading method. */
export interface TwoReadings {
  /** Between the poles. */
  pack_V: number;
  /** Each pole to chassis, as it is. */
  negative_V: number;
  positive_V: number;
  /** The pole with the higher reading (loadedPole) to chassis once more, the known resistor between the same points. */
  loaded_V: number;
  known_ohm: number;
}

export function parallel_ohm(...resistances_ohm: number[]): number {
  return 1 / resistances_ohm.reduce((sum, resistance_ohm) => sum + 1 / resistance_ohm, 0);
}

export function ohmPerVolt(resistance_ohm: number, voltage_V: number): number {
  return resistance_ohm / positive('voltage_V', voltage_V);
}

/**
 * What a voltmeter between one pole and chassis reads: the pack's voltage divided between that rail's resistance to
 * chassis and the other's. A meter of finite resistance, or a known resistor, lies in parallel to the rail it is put on.
 */
export function poleReading_V(pack_V: number, thisRail_ohm: number, otherRail_ohm: number): number {
  return (pack_V * thisRail_ohm) / positive('resistance', thisRail_ohm + otherRail_ohm);
}

/** The pole the known resistor goes to: the one further from chassis, so that the weaker rail is found. */
export function loadedPole(negative_V: number, positive_V: number): Pole {
  return negative_V >= positive_V ? 'negative' : 'positive';
}

/**
 * Isolation resistance in ohms by two readings (UN R100 component isolation annex, fourth step; ISO 6469-1):
 * known · pack · (1 / loaded − 1 / unloaded), of the pole with the higher reading. It is the resistance of the rail
 * opposite to the known resistor. The meter's own resistance cancels when it stays on the pole. Throws RangeError when a
 * reading is not above 0 or loading the pole raised its reading.
 */
export function twoReadingResistance_ohm(readings: TwoReadings): number {
  const { pack_V, known_ohm } = readings;
  const { unloaded_V, loaded_V } = checked(readings);
  return known_ohm * pack_V * (1 / loaded_V - 1 / unloaded_V);
}

/**
 * The same from the form of FMVSS 305: known · (1 + other / unloaded) · (unloaded − loaded) / loaded. Equal when the pole
 * readings add up to the pack's voltage, which an ideal meter's do and a loading one's do not.
 */
export function fmvssResistance_ohm(readings: Omit<TwoReadings, 'pack_V'>): number {
  const { unloaded_V, other_V, loaded_V } = checked(readings);
  return readings.known_ohm * (1 + other_V / unloaded_V) * ((unloaded_V - loaded_V) / loaded_V);
}

function checked({ negative_V, positive_V, loaded_V, known_ohm }: Omit<TwoReadings, 'pack_V'>): {
  unloaded_V: number;
  other_V: number;
  loaded_V: number;
} {
  const onNegative = loadedPole(negative_V, positive_V) === 'negative';
  const unloaded_V = onNegative ? negative_V : positive_V;
  positive('loaded_V', loaded_V);
  positive('known_ohm', known_ohm);
  if (loaded_V > unloaded_V) {
    throw new RangeError(`loaded_V ${loaded_V} is above the unloaded reading ${unloaded_V}`);
  }
  return { unloaded_V, other_V: onNegative ? positive_V : negative_V, loaded_V };
}

/** Readings of a monitor that switches one known resistor between each rail and earth in turn. */
export interface BridgeReadings {
  pack_V: number;
  /** Negative pole to earth, the resistor from the positive rail to earth. */
  knownOnPositive_V: number;
  /** Negative pole to earth, the resistor from the negative rail to earth. */
  knownOnNegative_V: number;
  known_ohm: number;
}

/**
 * Both rails' resistances to earth from a two-resistor bridge. With G = 1/R and g = 1/known the readings obey
 * Vp·G− = (V − Vp)·(G+ + g) and Vn·(G− + g) = (V − Vn)·G+; solved, G+ = g·Vn/(Vp − Vn) and G− = g·(V − Vp)/(Vp − Vn).
 * A rail without a path to earth comes out as infinite. Throws RangeError when the two readings do not differ as the
 * switching must make them.
 */
export function bridgeResistances_ohm(readings: BridgeReadings): {
  positive_ohm: number;
  negative_ohm: number;
} {
  const { pack_V, knownOnPositive_V, knownOnNegative_V, known_ohm } = readings;
  const swing_V = positive('the swing of the readings', knownOnPositive_V - knownOnNegative_V);
  return {
    positive_ohm: (positive('known_ohm', known_ohm) * swing_V) / knownOnNegative_V,
    negative_ohm: (known_ohm * swing_V) / (pack_V - knownOnPositive_V),
  };
}

/** How many time constants a reading is given to settle: 99.3 % of its step. */
const SETTLED = 5;

/** How long to wait after switching before a reading counts, for the Y-capacitance of both rails to earth. */
export function settling_s(resistances_ohm: number[], yCapacitance_F: number): number {
  return SETTLED * parallel_ohm(...resistances_ohm) * yCapacitance_F;
}

function positive(name: string, value: number): number {
  if (!(value > 0)) throw new RangeError(`${name} must be above 0, it is ${value}`);
  return value;
}
