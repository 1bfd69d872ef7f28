// Cables: resistance, loss, and the adiabatic limit of a short circuit.
//
// copperResistance_ohm(length_m, area_mm2, temperature_C) counts the way there and back: give both lengths together.

/** Ω·mm²/m of copper, at the temperature at which cables are specified (from memory). */
const COPPER = 0.0175;
/** Per kelvin above 20 °C (from memory). */
const COPPER_RISE = 0.00393;

export function copperResistance_ohm(
  length_m: number,
  area_mm2: number,
  temperature_C: number = 20,
): number {
  return ((COPPER * length_m) / area_mm2) * (1 + COPPER_RISE * (temperature_C - 20));
}

/**
 * A·√s/mm²: heating of a conductor by a short circuit of up to 5 s, from the insulation's working to its final
 * temperature (BS 7671, IEC 60364-5-54; confirmed from a public page).
 */
export const ADIABATIC_FACTOR = {
  /** 70 °C to 160 °C, up to 300 mm². */
  copperPvc: 115,
  /** 90 °C to 250 °C. */
  copperXlpe: 143,
  /** 60 °C to 200 °C. */
  copperRubber: 141,
  aluminiumPvc: 76,
  aluminiumXlpe: 94,
} as const;

/** The smallest conductor that bears this I²t. */
export function adiabaticArea_mm2(i2t_A2s: number, factor: number): number {
  return Math.sqrt(i2t_A2s) / factor;
}

export function adiabaticLimit_A2s(area_mm2: number, factor: number): number {
  return (factor * area_mm2) ** 2;
}
