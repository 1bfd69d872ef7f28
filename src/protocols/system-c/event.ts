// A V2G message of System C → a machine event: its name and the finite facts of it, the same for both protocols (DIN's
// Safe is valid; ReadyToChargeState true is start). A fact a message does not carry, or carries in no known form, is
// `unknown`. Events are shared objects: equal messages give the same one, so a machine step is a look-up.
import type { Json, JsonObject, MessageObservation } from '../../trace/observation.ts';
import { fields, quantity } from './physical-value.ts';

export interface V2gEvent {
  readonly type: string;
  readonly [fact: string]: string;
}

/** Every value of every fact, but `unknown`, which each may have too. */
export const FACT_VALUES = {
  code: ['ok', 'failed', 'sequence error', 'unknown session'],
  session: ['this', 'foreign', 'new', 'old'],
  processing: ['finished', 'ongoing', 'waiting for customer'],
  isolation: ['valid', 'warning', 'fault', 'invalid', 'no monitor'],
  status: ['ready', 'not ready', 'monitoring', 'shutdown', 'emergency', 'malfunction', 'other'],
  notification: ['none', 'stop now', 'stop later', 'renegotiate'],
  receipt: ['no', 'yes'],
  payment: ['external', 'contract'],
  ready: ['yes', 'no'],
  error: ['none', 'fault'],
  progress: ['start', 'stop', 'renegotiate'],
  demand: ['some', 'none'],
  complete: ['no', 'yes'],
  ending: ['terminate', 'pause'],
} as const;

export type FactName = keyof typeof FACT_VALUES;

const vehicleStatus: FactName[] = ['ready', 'error'];
const chargerStatus: FactName[] = ['isolation', 'status', 'notification'];

/** The facts of each message beside `code` (every answer) and `session` (all but the handshake). */
const own: Readonly<Record<string, readonly FactName[]>> = {
  ServicePaymentSelectionReq: ['payment'],
  PaymentServiceSelectionReq: ['payment'],
  ContractAuthenticationRes: ['processing'],
  AuthorizationRes: ['processing'],
  ChargeParameterDiscoveryReq: vehicleStatus,
  ChargeParameterDiscoveryRes: ['processing', ...chargerStatus],
  CableCheckReq: vehicleStatus,
  CableCheckRes: ['processing', ...chargerStatus],
  PreChargeReq: vehicleStatus,
  PreChargeRes: chargerStatus,
  PowerDeliveryReq: ['progress', ...vehicleStatus],
  PowerDeliveryRes: chargerStatus,
  CurrentDemandReq: [...vehicleStatus, 'demand', 'complete'],
  CurrentDemandRes: [...chargerStatus, 'receipt'],
  MeteringReceiptRes: chargerStatus,
  WeldingDetectionReq: vehicleStatus,
  WeldingDetectionRes: chargerStatus,
  SessionStopReq: ['ending'],
};

/** Names of the facts a message carries. */
export function factsOf(message: string): readonly FactName[] {
  const session: FactName[] = message.startsWith('supportedAppProtocol') ? [] : ['session'];
  const code: FactName[] = message.endsWith('Res') ? ['code'] : [];
  return [...session, ...code, ...(own[message] ?? [])];
}

/** A session has some fifty different events; a trace that names thousands is not to fill the memory. */
const MAXIMUM_KNOWN = 4096;

/** Reads the messages of one session; it remembers the id the charger gave. */
export function createEventReader(): (observation: MessageObservation) => V2gEvent | null {
  const plans = new Map<string, readonly FactName[]>();
  const known = new Map<string, V2gEvent>();
  const ids: SessionIds = { current: null };
  return (observation) => {
    const { name, message, header } = observation;
    if (!name.endsWith('Req') && !name.endsWith('Res')) return null;
    let plan = plans.get(name);
    if (plan === undefined) plans.set(name, (plan = factsOf(name)));
    const status = plan.includes('status') ? chargerPart(message) : vehiclePart(message);
    let key = name;
    const values: string[] = [];
    for (const fact of plan) {
      const value =
        fact === 'session'
          ? readSession(name, header?.SessionID, ids)
          : readers[fact](message, status);
      values.push(value);
      key += `|${value}`;
    }
    let event = known.get(key);
    if (event === undefined) {
      if (known.size >= MAXIMUM_KNOWN) {
        known.clear();
        plans.clear();
      }
      known.set(key, (event = build(name, plan, values)));
    }
    return event;
  };
}

function build(name: string, plan: readonly FactName[], values: readonly string[]): V2gEvent {
  const event: { type: string; [fact: string]: string } = { type: name };
  plan.forEach((fact, i) => (event[fact] = values[i]!));
  return Object.freeze(event);
}

interface SessionIds {
  current: string | null;
}

/** The id of SessionSetupRes is this session's; in a session joined midway, the first id seen. */
function readSession(name: string, id: Json | undefined, ids: SessionIds): string {
  if (typeof id !== 'string') return 'unknown';
  // Zero asks for a new session (ISO 15118-2 8.4.2); any other id at setup asks to join an old one.
  if (name === 'SessionSetupReq') return /^(00)+$/.test(id) || id === '' ? 'new' : 'old';
  if (name === 'SessionSetupRes' || ids.current === null) ids.current = id;
  return id === ids.current ? 'this' : 'foreign';
}

function chargerPart(message: JsonObject): JsonObject {
  const parameters = fields(message.DC_EVSEChargeParameter);
  return fields(message.DC_EVSEStatus ?? parameters.DC_EVSEStatus);
}

function vehiclePart(message: JsonObject): JsonObject {
  const parameters = fields(message.DC_EVChargeParameter);
  const delivery = fields(message.DC_EVPowerDeliveryParameter);
  return fields(message.DC_EVStatus ?? parameters.DC_EVStatus ?? delivery.DC_EVStatus);
}

const statusWords: Readonly<Record<string, string>> = {
  EVSE_Ready: 'ready',
  EVSE_NotReady: 'not ready',
  EVSE_Shutdown: 'shutdown',
  EVSE_IsolationMonitoringActive: 'monitoring',
  EVSE_EmergencyShutdown: 'emergency',
  EVSE_Malfunction: 'malfunction',
};

const isolationWords: Readonly<Record<string, string>> = {
  Valid: 'valid',
  Safe: 'valid',
  Warning: 'warning',
  Fault: 'fault',
  Invalid: 'invalid',
  No_IMD: 'no monitor',
};

const processingWords: Readonly<Record<string, string>> = {
  Finished: 'finished',
  Ongoing: 'ongoing',
  Ongoing_WaitingForCustomerInteraction: 'waiting for customer',
};

const progressWords: Readonly<Record<string, string>> = {
  Start: 'start',
  Stop: 'stop',
  Renegotiate: 'renegotiate',
};

type Read = (message: JsonObject, status: JsonObject) => string;

const readers: Readonly<Record<Exclude<FactName, 'session'>, Read>> = {
  code: ({ ResponseCode: code }) => {
    if (typeof code !== 'string') return 'unknown';
    if (code.startsWith('OK')) return 'ok';
    if (code === 'FAILED_SequenceError') return 'sequence error';
    return code === 'FAILED_UnknownSession' ? 'unknown session' : 'failed';
  },
  processing: ({ EVSEProcessing: word }) => look(processingWords, word, 'unknown'),
  isolation: (_, { EVSEIsolationStatus: word }) => look(isolationWords, word, 'unknown'),
  status: (_, { EVSEStatusCode: word }) =>
    word === undefined ? 'unknown' : look(statusWords, word, 'other'),
  notification: (_, { EVSENotification: word, NotificationMaxDelay: delay_s }) => {
    if (word === 'StopCharging') return delay_s === 0 ? 'stop now' : 'stop later';
    if (word === 'ReNegotiation') return 'renegotiate';
    return word === 'None' ? 'none' : 'unknown';
  },
  receipt: ({ ReceiptRequired: required }) => (required === true ? 'yes' : 'no'),
  payment: ({ SelectedPaymentOption: option }) => {
    if (option === 'Contract') return 'contract';
    return option === 'ExternalPayment' ? 'external' : 'unknown';
  },
  ready: (_, { EVReady: ready }) => (typeof ready === 'boolean' ? yesNo(ready) : 'unknown'),
  error: (_, { EVErrorCode: code }) => {
    if (typeof code !== 'string' || code === 'NoData') return 'unknown';
    return code === 'NO_ERROR' ? 'none' : 'fault';
  },
  progress: ({ ChargeProgress: progress, ReadyToChargeState: ready }) => {
    if (typeof ready === 'boolean') return ready ? 'start' : 'stop';
    return look(progressWords, progress, 'unknown');
  },
  demand: ({ EVTargetCurrent: current }) => {
    const asked_A = quantity(current, 'A');
    if (asked_A === undefined) return 'unknown';
    return asked_A > 0 ? 'some' : 'none';
  },
  complete: ({ ChargingComplete: complete }) =>
    typeof complete === 'boolean' ? yesNo(complete) : 'unknown',
  // DIN has no pause: its SessionStopReq is empty.
  ending: ({ ChargingSession: ending }) => (ending === 'Pause' ? 'pause' : 'terminate'),
};

function yesNo(value: boolean): string {
  return value ? 'yes' : 'no';
}

function look(words: Readonly<Record<string, string>>, word: Json | undefined, or: string): string {
  // A hostile trace may name what every object has (`constructor`).
  return typeof word === 'string' && Object.hasOwn(words, word) ? words[word]! : or;
}
