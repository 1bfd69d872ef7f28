// What flows when a contactor closes between two voltages: ΔV across a capacitance behind a loop of resistance and
// inductance. All in closed form.
//
// seriesCapacitance_F, sharedVoltage_V, jouleIntegral_A2s, inrushPeak(difference_V, loop) → { peak_A, at_s }.

export interface Loop {
  /** Of both sides in series; a battery counts as infinitely large. */
  readonly capacitance_F: number;
  readonly resistance_ohm: number;
  readonly inductance_H: number;
}

export function seriesCapacitance_F(first_F: number, second_F: number): number {
  if (first_F === Infinity) return second_F;
  return second_F === Infinity ? first_F : (first_F * second_F) / (first_F + second_F);
}

/** Where two capacitors end when they are joined. */
export function sharedVoltage_V(
  first_F: number,
  first_V: number,
  second_F: number,
  second_V: number,
): number {
  return (first_F * first_V + second_F * second_V) / (first_F + second_F);
}

/** Lost on the way, whatever the resistance. */
export function joiningEnergy_J(capacitance_F: number, difference_V: number): number {
  return (capacitance_F * difference_V * difference_V) / 2;
}

/** ∫i² dt: all that is lost, is lost in the resistance; with or without inductance. */
export function jouleIntegral_A2s(difference_V: number, loop: Loop): number {
  return joiningEnergy_J(loop.capacitance_F, difference_V) / loop.resistance_ohm;
}

/** The highest current and when. Without inductance it is ΔV/R at once. */
export function inrushPeak(difference_V: number, loop: Loop): { peak_A: number; at_s: number } {
  const { capacitance_F, resistance_ohm, inductance_H } = loop;
  const step_V = Math.abs(difference_V);
  if (inductance_H === 0) return { peak_A: step_V / resistance_ohm, at_s: 0 };
  const damping = resistance_ohm / (2 * inductance_H);
  const square = 1 / (inductance_H * capacitance_F) - damping * damping;
  const rate = Math.sqrt(Math.abs(square));
  if (square > 0) {
    const at_s = Math.atan2(rate, damping) / rate;
    const swing = Math.exp(-damping * at_s) * Math.sin(rate * at_s);
    return { peak_A: (step_V / (rate * inductance_H)) * swing, at_s };
  }
  if (rate === 0) {
    const at_s = 1 / damping;
    return { peak_A: (step_V / inductance_H) * at_s * Math.exp(-1), at_s };
  }
  const at_s = Math.atanh(rate / damping) / rate;
  // e^(−αt)·sinh(βt) as two falling exponentials: neither grows out of range.
  const swing = (Math.exp((rate - damping) * at_s) - Math.exp(-(rate + damping) * at_s)) / 2;
  return { peak_A: (step_V / (rate * inductance_H)) * swing, at_s };
}
