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

/** What the last request asked for, as far as its answer needs it: only PowerDelivery means several things. */
export const ASKED = ['power', 'stop', 'renegotiate', 'other'] as const;
export type Asked = (typeof ASKED)[number];

/** What one message means in its place: the request before it, and whether a notice to stop at once has stood. */
export interface Said {
  readonly reading: Reading;
  readonly asked: Asked;
  readonly stopNow: boolean;
}

const notice: Notice = { due_ns: 0, delay_s: 0, frame: null };

export function actOfSaid({ reading, asked }: Said): Act | null {
  if (reading.request === true) return reading.act ?? null;
  return reading.name === 'PowerDeliveryRes'
    ? asked === 'other'
      ? null
      : asked
    : (reading.act ?? null);
}

export function nextAsked({ act }: Reading): Asked {
  return act === 'power' || act === 'stop' || act === 'renegotiate' ? act : 'other';
}

/** Whether a notice to stop at once stands after a message. A later one counts as kept: its delay is the vehicle's. */
export function nextStopNow({ notice: said }: Reading, before: boolean): boolean {
  return said === undefined ? before : said.kind === 'stop' && said.delay_s === 0;
}

export const initialConsent: Consents = initialConsents(true);

export function stepConsent(consents: Consents, said: Said): Consents {
  // The charger's latest word counts: a later end takes the place of `at once`.
  const stands = nextStopNow(said.reading, said.stopNow) && said.stopNow;
  return stepConsents(consents, said.reading, actOfSaid(said), stands ? notice : null);
}

export function consentKey(consents: Consents): string {
  const { vehicle, charger, vehicleFinal, chargerFinal, vehicleError } = consents;
  const error = vehicleError === undefined ? 'no data' : vehicleError === null ? 'none' : 'fault';
  return [vehicle, charger, vehicleFinal, chargerFinal, error].join('|');
}

export function stepLatch(isolation: Facts['isolation'], said: Said): Facts['isolation'] {
  return stepIsolation(isolation, said.reading, actOfSaid(said));
}

/** Duties to stop that a message arms, while a consent to power stands. */
export function triggersOf(said: Said, isolation: Facts['isolation']): DutyKind[] {
  const passed = isolation === 'valid' || isolation === 'warning';
  const stands = nextStopNow(said.reading, said.stopNow) ? notice : null;
  return [...stopTriggers(said.reading, actOfSaid(said), stands, passed)].map(({ kind }) => kind);
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
  if (event.code !== 'unknown') {
    reading.ok = event.code === 'ok';
    reading.code = reading.ok ? 'OK' : 'FAILED';
  }
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
