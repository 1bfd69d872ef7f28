// Charging and discharging a capacitor: pre-charge through a resistor or by a source of constant current, discharge through
// a resistor, and what is stored meanwhile. Closed forms; the same in a circuit: RcPair.

export function storedEnergy_J(capacitance_F: number, voltage_V: number): number {
  return (capacitance_F * voltage_V * voltage_V) / 2;
}

/** From 0 towards `source_V` through a resistor. */
export function preCharged_V(
  source_V: number,
  resistance_ohm: number,
  capacitance_F: number,
  elapsed_s: number,
): number {
  return -source_V * Math.expm1(-elapsed_s / (resistance_ohm * capacitance_F));
}

/** Time constants to reach a share of the way. */
export function timeConstants(share: number): number {
  return -Math.log1p(-share);
}

/** Until only `difference_V` is missing. */
export function preChargeTime_s(
  source_V: number,
  difference_V: number,
  resistance_ohm: number,
  capacitance_F: number,
): number {
  return Math.max(0, resistance_ohm * capacitance_F * Math.log(source_V / difference_V));
}

/** The largest resistor that leaves no more than `difference_V` after `within_s`. */
export function largestPreChargeResistance_ohm(
  source_V: number,
  difference_V: number,
  capacitance_F: number,
  within_s: number,
): number {
  return within_s / (capacitance_F * Math.log(source_V / difference_V));
}

/** What the resistor has burnt by then; in the end as much as the capacitor stores, whatever the resistance. */
export function preChargeResistorEnergy_J(
  source_V: number,
  resistance_ohm: number,
  capacitance_F: number,
  elapsed_s: number,
): number {
  const share = -Math.expm1((-2 * elapsed_s) / (resistance_ohm * capacitance_F));
  return storedEnergy_J(capacitance_F, source_V) * share;
}

/** By a source of constant current. */
export function currentChargeTime_s(
  capacitance_F: number,
  difference_V: number,
  current_A: number,
): number {
  return (capacitance_F * difference_V) / current_A;
}

/** The largest capacitance that a constant current lifts by `difference_V` in time. */
export function largestCapacitance_F(
  current_A: number,
  within_s: number,
  difference_V: number,
): number {
  return (current_A * within_s) / difference_V;
}

export function dischargeTime_s(
  resistance_ohm: number,
  capacitance_F: number,
  from_V: number,
  to_V: number,
): number {
  return resistance_ohm * capacitance_F * Math.log(from_V / to_V);
}

/** The largest resistor that brings the voltage down in time. */
export function dischargeResistance_ohm(
  within_s: number,
  capacitance_F: number,
  from_V: number,
  to_V: number,
): number {
  return within_s / (capacitance_F * Math.log(from_V / to_V));
}

/** What a capacitor holds above a voltage that is safe to touch (UN R94, Annex 11: 60 V; from memory). */
export function energyAbove_J(capacitance_F: number, voltage_V: number, safe_V: number): number {
  return storedEnergy_J(capacitance_F, voltage_V) - storedEnergy_J(capacitance_F, safe_V);
}
