// Resistor coding of the proximity contact: what current a cable carries.

/** Nominal coding resistor and the cable's current: IEC 61851-1 Annex B; nominal values from memory. */
export interface CableCode {
  readonly nominal_ohm: number;
  readonly current_A: number;
  /** Decision windows in ohms, ends included; the editions differ. From memory. */
  readonly windows: {
    readonly 2010: readonly [number, number];
    readonly 2017: readonly [number, number];
  };
}

/** From the lowest current up, so that a resistance on the border of two windows counts as the weaker cable. */
export const CABLE_CODES: readonly CableCode[] = [
  { nominal_ohm: 1500, current_A: 13, windows: { 2010: [1000, 2200], 2017: [1100, 2460] } },
  { nominal_ohm: 680, current_A: 20, windows: { 2010: [330, 1000], 2017: [400, 936] } },
  { nominal_ohm: 220, current_A: 32, windows: { 2010: [150, 330], 2017: [164, 308] } },
  // Three-phase; 70 A in a single-phase cable.
  { nominal_ohm: 100, current_A: 63, windows: { 2010: [75, 150], 2017: [80, 140] } },
];

/** Current a coded cable carries, in amperes; null when the resistance is no coding. */
export function cableCurrent_A(resistance_ohm: number, edition: 2010 | 2017 = 2017): number | null {
  const code = CABLE_CODES.find(({ windows }) => {
    const [least, most] = windows[edition];
    return resistance_ohm >= least && resistance_ohm <= most;
  });
  return code?.current_A ?? null;
}
