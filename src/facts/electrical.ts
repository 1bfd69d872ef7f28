// Voltages, current and contactors: the latest value of each, where it came from, and how long it counts.
import { alive, currentLives_ns, measured, voltageLives_ns, type Measured } from './evidence.ts';
import {
  closingGate_V,
  currentTolerance_A,
  liveVoltage_V,
  openingCurrentError_A,
  preChargeCurrent_A,
  reportedCurrentErrorFloor_A,
  reportedCurrentErrorShare,
  reportedVoltageError_V,
} from './figures.ts';
import type { Reading } from './reading.ts';
import type { Act, Facts } from './vocabulary.ts';

export interface Electrical {
  output: Measured | null;
  inlet: Measured | null;
  battery: Measured | null;
  current: Measured | null;
  vehicleContactor: Facts['vehicleContactor'];
  chargerContactor: Facts['chargerContactor'];
  contactorEvidence: 'measured' | 'inferred';
  /** The vehicle's contactor was closed in this session: the output may show the battery's voltage. */
  everClosed: boolean;
  /** It may have been closed in a part of the session that was not seen. */
  perhapsClosed: boolean;
  /** Last output voltage while energy flowed: what a welded contactor would keep at the inlet. */
  operating: Measured | null;
}

export const initialElectrical: Readonly<Electrical> = Object.freeze({
  output: null,
  inlet: null,
  battery: null,
  current: null,
  vehicleContactor: 'unknown',
  chargerContactor: 'unknown',
  contactorEvidence: 'inferred',
  everClosed: false,
  perhapsClosed: false,
  operating: null,
});

const kept = (value: Measured | null): Measured | null =>
  value?.evidence === 'measured' ? value : null;

/** After a gap, or where the recording joined late: what a message told may have changed, unseen. */
export function electricalAfterLoss(before: Electrical): Electrical {
  const contactorSeen = before.contactorEvidence === 'measured';
  return {
    ...before,
    output: kept(before.output),
    inlet: kept(before.inlet),
    battery: kept(before.battery),
    current: kept(before.current),
    vehicleContactor: contactorSeen ? before.vehicleContactor : 'unknown',
    perhapsClosed: !contactorSeen,
  };
}

export function stepElectrical(before: Electrical, reading: Reading, act: Act | null): Electrical {
  const next = { ...before };
  const { at_ns, frame } = reading;
  if (reading.presentVoltage_V !== undefined) {
    next.output = measured(reading.presentVoltage_V, at_ns, frame, 'reported');
    // WeldingDetectionRes reports the voltage at the inlet (IEC 61851-23 Annex CC, welding detection).
    // What a meter shows stands before what is reported.
    const metered = alive(next.inlet, reading.at_ns, voltageLives_ns)?.evidence === 'measured';
    if (act === 'weld check' && !metered) next.inlet = next.output;
    if (act === 'demand') next.operating = next.output;
  }
  if (reading.presentCurrent_A !== undefined) {
    next.current = measured(reading.presentCurrent_A, at_ns, frame, 'reported');
  }
  if (act === 'approach' && reading.request === true && reading.targetVoltage_V !== undefined) {
    // The vehicle asks pre-charge for its battery's voltage and follows it while it waits.
    next.battery = measured(reading.targetVoltage_V, at_ns, frame, 'inferred');
  }
  inferContactor(next, reading, act);
  stepObserved(next, reading);
  return next;
}

function inferContactor(next: Electrical, reading: Reading, act: Act | null): void {
  if (next.contactorEvidence === 'measured') return;
  if (reading.request === true && act === 'power') {
    // Closing lies between the last PreChargeRes and this request (stage h before i, IEC 61851-23 Annex CC).
    next.vehicleContactor = 'closed';
    next.everClosed = true;
  }
  if (act === 'stop' || act === 'renegotiate') next.vehicleContactor = 'unknown';
  if (reading.request === true && act === 'weld check') next.vehicleContactor = 'open';
}

function stepObserved(next: Electrical, reading: Reading): void {
  const seen = reading.observed;
  if (seen?.kind === 'voltage') {
    next[seen.place] = measured(seen.voltage_V, seen.at_ns, reading.frame, 'measured');
  } else if (seen?.kind === 'current') {
    next.current = measured(seen.current_A, seen.at_ns, reading.frame, 'measured');
  } else if (seen?.kind === 'contactor' && seen.side === 'vehicle') {
    next.vehicleContactor = seen.state;
    next.contactorEvidence = 'measured';
    if (seen.state === 'closed') next.everClosed = true;
  } else if (seen?.kind === 'contactor') {
    next.chargerContactor = seen.state;
  }
}

function voltageFact(value: Measured | null, now_ns: number): Facts['outputVoltage'] {
  const known = alive(value, now_ns, voltageLives_ns);
  if (known === null) return 'unknown';
  return known.value > liveVoltage_V.value ? 'live' : 'safe';
}

/** A live voltage seen before a consent was withdrawn tells nothing of the time after: the output comes down. */
export function voltageSince(
  value: Measured | null,
  now_ns: number,
  withdrawn_ns: number,
): Facts['outputVoltage'] {
  const fact = voltageFact(value, now_ns);
  return fact === 'live' && value!.at_ns < withdrawn_ns ? 'unknown' : fact;
}

/**
 * A live output as the charger's doing: once the vehicle's contactor has closed, it may be the battery's. After a
 * withdrawal a sample tells of its own moment only.
 */
export function drivenFact(
  state: Electrical,
  now_ns: number,
  withdrawn_ns: number,
): Facts['outputDriven'] {
  const fact = voltageFact(state.output, now_ns);
  if (fact !== 'live') return fact === 'safe' ? 'no' : 'unknown';
  if (withdrawn_ns > -Infinity && state.output!.at_ns !== now_ns) return 'unknown';
  const surelyOpen = state.contactorEvidence === 'measured' && state.vehicleContactor === 'open';
  const perhapsClosed = state.everClosed || state.perhapsClosed;
  return perhapsClosed && !surelyOpen ? 'unknown' : 'yes';
}

export function currentFact(state: Electrical, now_ns: number): Facts['current'] {
  const known = alive(state.current, now_ns, currentLives_ns);
  if (known === null) return 'unknown';
  const error_A = currentError_A(known.value);
  if (known.value < -error_A) return 'reverse';
  if (known.value <= error_A) return 'none';
  if (known.value <= preChargeCurrent_A.value + error_A) return 'idle';
  return known.value <= openingCurrentError_A.value ? 'low' : 'flowing';
}

export function reverseFact(state: Electrical, now_ns: number): Facts['reverse'] {
  const known = alive(state.current, now_ns, currentLives_ns);
  if (known === null || known.value >= -currentError_A(known.value)) return 'no';
  return known.value >= -currentTolerance_A.value ? 'slight' : 'plain';
}

export function currentError_A(value_A: number): number {
  const share = reportedCurrentErrorShare.value * Math.abs(value_A);
  return Math.max(reportedCurrentErrorFloor_A.value, share);
}

/** Distance between output and battery, or null when either is not known. */
export function gateDistance_V(state: Electrical, now_ns: number): number | null {
  const across =
    alive(state.inlet, now_ns, voltageLives_ns) ?? alive(state.output, now_ns, voltageLives_ns);
  const battery = alive(state.battery, now_ns, voltageLives_ns);
  return across === null || battery === null ? null : Math.abs(across.value - battery.value);
}

export function gateFact(state: Electrical, now_ns: number): Facts['gate'] {
  const distance_V = gateDistance_V(state, now_ns);
  if (distance_V === null) return 'unknown';
  if (distance_V < closingGate_V.value) return 'inside';
  // The vehicle decides by its own measurement; the charger's report may be off by its accuracy.
  const across = alive(state.inlet, now_ns, voltageLives_ns) ?? state.output;
  const doubt_V = across?.evidence === 'measured' ? 0 : reportedVoltageError_V.value;
  return distance_V < closingGate_V.value + doubt_V ? 'doubtful' : 'outside';
}
