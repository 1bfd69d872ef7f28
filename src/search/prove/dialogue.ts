// The dialogue as the rules see it: who has consented to what, and how isolation stands, after each message. The same
// folds as for captures (facts/consent.ts, facts/triggers.ts), run over every message the two sides can exchange.
import {
  initialConsents,
  stepConsents,
  stepIsolation,
  type Consents,
} from '../../facts/consent.ts';
import type { DutyKind } from '../../facts/duty-table.ts';
import type { Reading } from '../../facts/reading.ts';
import { stopTriggers, type Notice } from '../../facts/triggers.ts';
import type { Act, Facts } from '../../facts/vocabulary.ts';
import type { MachineEvent } from '../../machine/convention.ts';
import type { Dialect } from '../../protocols/system-c/dialect.ts';

export interface DialogueState {
  consents: Consents;
  isolation: Facts['isolation'];
  /** A notice to stop at once stands. A later one counts as kept: its delay is the vehicle's. */
  stopNow: boolean;
  /** What the last request asked for, and in which session. */
  asked: Act | null;
  askedIn: Facts['session'];
}

export const initialDialogue: DialogueState = {
  consents: initialConsents(true),
  isolation: 'untested',
  stopNow: false,
  asked: null,
  askedIn: null,
};

/** What one message does beside changing the state. */
export interface DialogueStep {
  next: DialogueState;
  act: Act | null;
  /** The response accepts. */
  ok: boolean;
  session: Facts['session'];
  /** Duties to stop that it arms. */
  triggers: DutyKind[];
}

const notice: Notice = { due_ns: 0, delay_s: 0, frame: null };

export function stepDialogue(
  state: DialogueState,
  event: MachineEvent,
  dialect: Dialect,
): DialogueStep {
  const reading = abstractReading(event, dialect);
  const request = reading.request === true;
  const act = request ? (reading.act ?? null) : state.asked;
  const session = reading.session ?? null;
  const passed = state.stopNow && reading.notice?.kind !== 'none' ? notice : null;
  const stopNow =
    reading.notice === undefined
      ? state.stopNow
      : reading.notice.kind === 'stop' && reading.notice.delay_s === 0;
  const consents = stepConsents(state.consents, reading, act, passed);
  const isolation = stepIsolation(state.isolation, reading, act);
  const isolationPassed = state.isolation === 'valid' || state.isolation === 'warning';
  const mayFlow = state.consents.vehicle === 'power' || state.consents.charger === 'power';
  const triggers = mayFlow
    ? [...stopTriggers(reading, act, stopNow ? notice : null, isolationPassed)].map(
        ({ kind }) => kind,
      )
    : [];
  return {
    next: {
      consents,
      isolation,
      stopNow,
      asked: request ? act : state.asked,
      askedIn: request ? session : state.askedIn,
    },
    act,
    ok: reading.ok === true,
    session,
    triggers,
  };
}

export function dialogueKey({
  consents,
  isolation,
  stopNow,
  asked,
  askedIn,
}: DialogueState): string {
  const { vehicle, charger, vehicleFinal, chargerFinal, vehicleError } = consents;
  const said = vehicleError === undefined ? 'no data' : vehicleError === null ? 'none' : 'fault';
  return [
    vehicle,
    charger,
    vehicleFinal,
    chargerFinal,
    said,
    isolation,
    stopNow,
    asked,
    askedIn,
  ].join('|');
}

const isolationOf: Record<string, Reading['isolationStatus']> = {
  valid: 'valid',
  warning: 'warning',
  fault: 'fault',
  invalid: 'invalid',
  'no monitor': 'none',
};

const statusOf: Record<string, Reading['status']> = {
  ready: 'ready',
  'not ready': 'not ready',
  monitoring: 'testing',
  shutdown: 'shutdown',
  emergency: 'emergency',
  malfunction: 'malfunction',
  other: 'other',
};

/** A machine event as a reading: amounts are unknown, only whether anything is asked for is. */
export function abstractReading(event: MachineEvent, dialect: Dialect): Reading {
  const name = event.type;
  const request = name.endsWith('Req');
  const reading: Reading = {
    at_ns: 0,
    frame: null,
    from: request ? 'vehicle' : 'charger',
    name,
    evidence: 'reported',
    request,
  };
  const act = actOf(event, dialect);
  if (act !== undefined) reading.act = act;
  if (event.session === 'foreign' || event.session === 'this') reading.session = event.session;
  if (request) readRequest(reading, event);
  else readResponse(reading, event);
  return reading;
}

function actOf(event: MachineEvent, dialect: Dialect): Act | undefined {
  const step = event.type.slice(0, -3);
  if (step !== 'PowerDelivery') return dialect.acts[step];
  if (event.type.endsWith('Res')) return undefined;
  return event.progress === 'start'
    ? 'power'
    : event.progress === 'stop' || event.progress === 'renegotiate'
      ? event.progress
      : undefined;
}

function readRequest(reading: Reading, event: MachineEvent): void {
  if (event.ready === 'yes' || event.ready === 'no') reading.ready = event.ready === 'yes';
  if (event.error === 'none') reading.error = null;
  if (event.error === 'fault') reading.error = 'fault';
  if (event.complete !== undefined) reading.complete = event.complete === 'yes';
  if (event.demand !== undefined) reading.targetCurrent_A = event.demand === 'none' ? 0 : 1;
}

function readResponse(reading: Reading, event: MachineEvent): void {
  reading.code = event.code ?? 'unknown';
  reading.ok = event.code === 'ok';
  if (event.processing === 'finished' || event.processing === 'ongoing') {
    reading.processing = event.processing;
  }
  const status = statusOf[event.status ?? ''];
  if (status !== undefined) {
    reading.status = status;
    reading.statusCode = event.status!;
  }
  const isolation = isolationOf[event.isolation ?? ''];
  if (isolation !== undefined) reading.isolationStatus = isolation;
  if (event.notification === 'stop now') reading.notice = { kind: 'stop', delay_s: 0 };
  if (event.notification === 'stop later') reading.notice = { kind: 'stop', delay_s: 60 };
  if (event.notification === 'none') reading.notice = { kind: 'none', delay_s: 0 };
  if (event.notification === 'renegotiate') reading.notice = { kind: 'renegotiate', delay_s: 0 };
}
