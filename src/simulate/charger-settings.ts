// What a charger is like, and what its habits know of its mind.
import type { SideLimits } from '../protocols/system-c/body-parts.ts';

/** How long it takes, in milliseconds. */
interface ChargerTimes {
  /** To answer: between these, by chance. */
  readonly answerFrom_ms: number;
  readonly answerTo_ms: number;
  readonly authorization_ms: number;
  /** From the test's voltage to its result. */
  readonly isolationTest_ms: number;
}

export interface ChargerSettings {
  readonly limits: SideLimits;
  readonly minimum: { readonly voltage_V: number; readonly current_A: number };
  readonly ripple_A: number;
  /** The most it is built for: the basis of ohms per volt (IEC 61851-23). */
  readonly ratedVoltage_V: number;
  /** At most this, and no more than the vehicle can take. */
  readonly testVoltage_V: number;
  readonly testCurrent_A: number;
  readonly preCharge_A: number;
  readonly times: ChargerTimes;
  readonly chargerId: string;
  readonly sessionId: string;
}

/** What the habits read of the charger's own mind. */
export interface ChargerMind {
  readonly settings: ChargerSettings;
  /** When the test's voltage went on; null while no test runs. */
  readonly testing_ns: number | null;
  readonly authorizing_ns: number | null;
}
