// Who has said yes to what. Consent has a scope (test, approach, power); it counts only in the session that gave it
// and until it is withdrawn. Definition: system C, from clauses on CableCheck, PreCharge and PowerDelivery of
// DIN SPEC 70121 and ISO 15118-2 and the shutdown rows of IEC 61851-23 Annex CC.
import type { Side } from '../trace/observation.ts';
import type { IsolationClass } from './isolation-class.ts';
import { leftReady, type PilotReading } from './pilot.ts';
import type { Reading } from './reading.ts';
import type { Notice } from './triggers.ts';
import type { Act, Consent, Facts } from './vocabulary.ts';

interface Withdrawal {
  frame: number | null;
  at_ns: number;
  because: string;
}

export interface Consents {
  vehicle: Consent;
  charger: Consent;
  vehicleWithdrawal: Withdrawal | null;
  chargerWithdrawal: Withdrawal | null;
  /** After a stop, a fault or a FAILED answer the way back starts at initialisation. */
  vehicleFinal: boolean;
  chargerFinal: boolean;
  /** The vehicle's last error code; null is NO_ERROR, undefined is NoData or nothing yet. */
  vehicleError: string | null | undefined;
}

export function initialConsents(known: boolean): Consents {
  const consent: Consent = known ? 'none' : 'unknown';
  return {
    vehicle: consent,
    charger: consent,
    vehicleWithdrawal: null,
    chargerWithdrawal: null,
    vehicleFinal: false,
    chargerFinal: false,
    vehicleError: undefined,
  };
}

const rank: Record<Consent, number> = {
  unknown: -1,
  none: 0,
  withdrawn: 0,
  test: 1,
  approach: 2,
  power: 3,
};

/**
 * Consents after one reading. `act` is what the message asks for or, on a response, what its request asked for;
 * `passed`: a stop notice whose NotificationMaxDelay is over.
 */
export function stepConsents(
  consents: Consents,
  reading: Reading,
  act: Act | null,
  passed: Notice | null,
): Consents {
  const next = { ...consents };
  if (reading.from === 'vehicle' && reading.request === true) stepVehicle(next, reading, act);
  if (reading.from === 'charger' && reading.request === false) stepCharger(next, reading, act);
  if (passed !== null) {
    const because = 'it asked to stop charging (StopCharging)';
    withdraw(next, 'charger', { ...reading, frame: passed.frame }, because, false);
  }
  if (reading.link === 'closed') {
    withdraw(next, 'vehicle', reading, 'the link closed', true);
    withdraw(next, 'charger', reading, 'the link closed', true);
  }
  stepObserved(next, reading);
  return next;
}

function stepVehicle(next: Consents, reading: Reading, act: Act | null): void {
  if (reading.error !== undefined) next.vehicleError = reading.error;
  const inPower = next.vehicle === 'power';
  if (typeof reading.error === 'string') {
    withdraw(next, 'vehicle', reading, `it reported ${reading.error}`, true);
  } else if (act === 'stop' || act === 'end') {
    withdraw(next, 'vehicle', reading, `it sent ${reading.name} to stop`, true);
  } else if (act === 'renegotiate') {
    withdraw(next, 'vehicle', reading, 'it asked to renegotiate', false);
  } else if (inPower && reading.ready === false) {
    withdraw(next, 'vehicle', reading, 'it sent EVReady false', false);
  } else if (inPower && reading.complete === true) {
    withdraw(next, 'vehicle', reading, 'it sent ChargingComplete true', false);
  } else if (reading.session !== 'foreign' && !next.vehicleFinal) {
    giveVehicle(next, act);
  }
}

function giveVehicle(next: Consents, act: Act | null): void {
  // A vehicle that sends EVReady false before PowerDelivery is common practice: it withdraws nothing there.
  if (act === 'test' && rank[next.vehicle] < rank.test) next.vehicle = 'test';
  // NoData leaves the vehicle's consent unknown.
  const known = next.vehicleError === null;
  if (act === 'approach' && rank[next.vehicle] < rank.approach) {
    next.vehicle = known ? 'approach' : 'unknown';
  }
  if (act === 'power') next.vehicle = next.vehicleError === undefined ? 'unknown' : 'power';
}

function stepCharger(next: Consents, reading: Reading, act: Act | null): void {
  const started = rank[next.charger] >= rank.approach;
  // During a test a charger need not be ready; a first and a later one count alike.
  const notReady = reading.status === 'not ready' && act !== 'test';
  if (reading.ok === false) {
    withdraw(next, 'charger', reading, `it answered ${reading.code}`, true);
  } else if (reading.status === 'emergency' || reading.status === 'malfunction') {
    withdraw(next, 'charger', reading, `it reported ${reading.statusCode}`, true);
  } else if (reading.isolationStatus === 'fault') {
    withdraw(next, 'charger', reading, 'it reported an isolation fault', true);
  } else if (started && reading.isolationStatus === 'invalid' && act !== 'test') {
    withdraw(next, 'charger', reading, 'it reported isolation Invalid after the test', false);
  } else if (started && (notReady || reading.status === 'shutdown')) {
    withdraw(next, 'charger', reading, `it reported ${reading.statusCode}`, false);
  } else if (reading.ok === true && reading.session !== 'foreign' && !next.chargerFinal) {
    giveCharger(next, reading, act);
  }
}

function giveCharger(next: Consents, reading: Reading, act: Act | null): void {
  if (act === 'test' && reading.processing === 'ongoing') next.charger = 'test';
  if (act === 'test' && reading.processing === 'finished') {
    const passed = reading.isolationStatus === 'valid' || reading.isolationStatus === 'warning';
    if (passed) next.charger = 'approach';
    else if (reading.isolationStatus === undefined) next.charger = 'unknown';
  }
  if (act === 'power') {
    if (reading.status === 'ready') next.charger = 'power';
    else if (reading.status === undefined || reading.status === 'testing') next.charger = 'unknown';
  }
}

function stepObserved(next: Consents, reading: Reading): void {
  const seen = reading.observed;
  if (reading.pilot !== undefined) stepPilot(next, reading, reading.pilot);
  if (seen?.kind === 'alarm' && seen.alarm !== 'none') {
    withdraw(next, seen.side, reading, `alarm: ${seen.alarm}`, seen.alarm !== 'stop asked');
  }
}

function stepPilot(next: Consents, reading: Reading, { state, pwm }: PilotReading): void {
  const went = `the pilot went to ${state}`;
  if (state === 'E' || state === 'F') withdraw(next, 'charger', reading, went, true);
  else if (pwm === false) withdraw(next, 'charger', reading, 'it stopped the oscillator', true);
  if (leftReady(state)) withdraw(next, 'vehicle', reading, went, true);
}

function withdraw(
  next: Consents,
  side: Side,
  reading: Reading,
  because: string,
  final: boolean,
): void {
  const before = next[side];
  const given = before !== 'none' && before !== 'withdrawn';
  if (given) {
    next[side] = 'withdrawn';
    next[`${side}Withdrawal`] = { frame: reading.frame, at_ns: reading.at_ns, because };
  }
  // Before any consent a plugged-in vehicle sits in pilot B: nothing was given, nothing is lost.
  if (final && given && before !== 'unknown') next[`${side}Final`] = true;
}

/**
 * The isolation latch: valid or warning only by this session's finished test; any later status, and the class of a
 * measured resistance, may lower it, none may raise it. `No_IMD` and `Invalid` are no passed test; an absent status
 * leaves it unknown.
 */
export function stepIsolation(
  isolation: Facts['isolation'],
  reading: Reading,
  act: Act | null,
): Facts['isolation'] {
  if (reading.isolationClass !== undefined) return lowered(isolation, reading.isolationClass);
  if (reading.from !== 'charger' || reading.request !== false) return isolation;
  const status = reading.isolationStatus;
  if (isolation === 'fault' || status === 'fault') return 'fault';
  if (act === 'test' && reading.ok === true) {
    if (reading.processing !== 'finished') return 'testing';
    if (status === undefined) return 'unknown';
    return status === 'valid' || status === 'warning' ? status : 'untested';
  }
  if (isolation === 'valid' && status === 'warning') return 'warning';
  if ((isolation === 'valid' || isolation === 'warning') && status === 'invalid') return 'untested';
  return isolation;
}

/** Before the test has passed there is nothing to lower: a monitor that starts up may read anything. */
function lowered(isolation: Facts['isolation'], seen: IsolationClass): Facts['isolation'] {
  const untested = isolation === 'untested' || isolation === 'testing';
  if (seen === 'fault' && !untested) return 'fault';
  return seen === 'warning' && isolation === 'valid' ? 'warning' : isolation;
}
