// The control pilot: from what a recorder saw of it to its state.
import type { PilotObservation } from '../trace/observation.ts';
import type { Facts } from './vocabulary.ts';

export type PilotState = NonNullable<PilotObservation['state']>;

/** What one observation of the pilot comes to; `unknown` where its voltage is of no state. */
export interface PilotReading {
  state: Facts['pilot'];
  /** Whether the oscillator runs; absent where nothing tells. */
  pwm?: boolean;
}

/** Positive peak at the charger's terminals; in state F the steady voltage. */
interface PilotWindow {
  readonly state: PilotState;
  readonly least_V: number;
  readonly most_V: number;
}

/**
 * From the highest voltage to the lowest: IEC 61851-1:2017, Table A.4. The nominal voltages in their midst are
 * confirmed, the windows from memory.
 */
const PILOT_WINDOWS: readonly PilotWindow[] = [
  { state: 'A', least_V: 11, most_V: 13 },
  { state: 'B', least_V: 8, most_V: 10 },
  { state: 'C', least_V: 5, most_V: 7 },
  { state: 'D', least_V: 2, most_V: 4 },
  { state: 'E', least_V: -1, most_V: 1 },
  { state: 'F', least_V: -13, most_V: -11 },
];

const HIGHEST = PILOT_WINDOWS.find(({ state }) => state === 'A')!;
const LOWEST_HELD = PILOT_WINDOWS.find(({ state }) => state === 'E')!;
/** The negative half of a running oscillator has the voltage of state F (the same table). */
const NEGATIVE = PILOT_WINDOWS.find(({ state }) => state === 'F')!;

const isIn = (voltage_V: number, { least_V, most_V }: PilotWindow): boolean =>
  voltage_V >= least_V && voltage_V <= most_V;

/**
 * The state of a pilot whose positive peak (or steady voltage) is `voltage_V`. Between the windows of A to E lie
 * hysteresis bands, in which the previous state stays; null where no state is: in such a band without a previous state,
 * between E and F, and outside all windows.
 */
export function pilotState(voltage_V: number, previous: PilotState | null): PilotState | null {
  const found = PILOT_WINDOWS.find((one) => isIn(voltage_V, one));
  if (found !== undefined) return found.state;
  return voltage_V > LOWEST_HELD.most_V && voltage_V < HIGHEST.least_V ? previous : null;
}

/** A state that was told stands; else the voltage tells it, after the state `before`. */
export function readPilot(seen: PilotObservation, before: Facts['pilot']): PilotReading {
  const state = seen.state ?? stateByVoltage(seen, before);
  const reading: PilotReading = { state };
  const pwm = seen.pwm ?? oscillates(seen, state);
  if (pwm !== undefined) reading.pwm = pwm;
  return reading;
}

function stateByVoltage({ voltage_V }: PilotObservation, before: Facts['pilot']): Facts['pilot'] {
  if (voltage_V === undefined) return 'unknown';
  return pilotState(voltage_V, before === 'unknown' ? null : before) ?? 'unknown';
}

/**
 * Steady voltages are duty cycles of 0 and 100 %. A missing negative half proves nothing, since a recorder may not see
 * it, and in state F it is the steady voltage.
 */
function oscillates(seen: PilotObservation, state: Facts['pilot']): boolean | undefined {
  const { duty_percent, negative_V } = seen;
  if (duty_percent !== undefined) return duty_percent > 0 && duty_percent < 100;
  const seesHalf = negative_V !== undefined && isIn(negative_V, NEGATIVE) && state !== 'F';
  return seesHalf ? true : undefined;
}

/** The vehicle is plainly not ready for power (any more): only C and D say that it is. */
export function leftReady(state: Facts['pilot']): boolean {
  return state !== 'C' && state !== 'D' && state !== 'unknown';
}
