// The control pilot's figures: voltage → state, duty cycle → current.
import type { PilotObservation } from '../trace/observation.ts';
import type { Confidence } from './figures.ts';

export type PilotState = PilotObservation['state'];

/** Positive peak at the charger's terminals; in state F the steady voltage. */
interface PilotWindow {
  readonly state: PilotState;
  readonly least_V: number;
  readonly nominal_V: number;
  readonly most_V: number;
}

export interface PilotWindows {
  readonly source: string;
  readonly confidence: Confidence;
  /** From the highest voltage to the lowest. */
  readonly windows: readonly PilotWindow[];
}

function window(
  state: PilotState,
  least_V: number,
  nominal_V: number,
  most_V: number,
): PilotWindow {
  return { state, least_V, nominal_V, most_V };
}

/** The nominal voltages are confirmed, the windows around them are not. */
export const IEC_WINDOWS: PilotWindows = {
  source: 'IEC 61851-1:2017, Table A.4',
  confidence: 'from memory',
  windows: [
    window('A', 11, 12, 13),
    window('B', 8, 9, 10),
    window('C', 5, 6, 7),
    window('D', 2, 3, 4),
    window('E', -1, 0, 1),
    window('F', -13, -12, -11),
  ],
};

export const SAE_WINDOWS: PilotWindows = {
  source: 'SAE J1772; state E, which has no window there, as in IEC 61851-1',
  confidence: 'from memory',
  windows: [
    window('A', 11.4, 12, 12.6),
    window('B', 8.36, 9, 9.56),
    window('C', 5.48, 6, 6.49),
    window('D', 2.62, 3, 3.25),
    window('E', -1, 0, 1),
    window('F', -12.6, -12, -11.4),
  ],
};

/**
 * The state of a pilot whose positive peak (or steady voltage) is `voltage_V`. Between the windows of A to E lie
 * hysteresis bands, in which the previous state stays; null where no state is: in such a band without a previous state,
 * between E and F, and outside all windows.
 */
export function pilotState(
  voltage_V: number,
  previous: PilotState | null,
  { windows }: PilotWindows = IEC_WINDOWS,
): PilotState | null {
  const found = windows.find(({ least_V, most_V }) => voltage_V >= least_V && voltage_V <= most_V);
  if (found !== undefined) return found.state;
  const lowest = windows.find(({ state }) => state === 'E')!;
  return voltage_V > lowest.most_V && voltage_V < windows[0]!.least_V ? previous : null;
}

/**
 * Whether a duty cycle asks for digital communication (nominal 5 %, the only one used for d.c. supply): IEC 61851-1:2017
 * Table A.8; range from memory.
 */
export function asksDigital(duty_percent: number): boolean {
  return duty_percent >= 3 && duty_percent <= 7;
}

/**
 * Current the vehicle may draw by the duty cycle it reads, in amperes (a.c.): IEC 61851-1:2017 Table A.8. Slopes, their
 * change at 51 A and the end at 80 A are confirmed, the range limits are from memory. The lower slope owns the point
 * 85 %: 51 A, where the upper one would give 52.5 A. 0 where the duty cycle allows none, or asks for digital
 * communication first.
 */
export function currentFromDuty(duty_percent: number): number {
  if (!(duty_percent >= 8 && duty_percent <= 97)) return 0;
  if (duty_percent < 10) return 6;
  if (duty_percent <= 85) return duty_percent * 0.6;
  if (duty_percent <= 96) return (duty_percent - 64) * 2.5;
  return 80;
}
