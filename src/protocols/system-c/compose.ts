// Facts and numbers → a System C message with its header: the inverse of event.ts and reading.ts. The facts of a machine's
// `send` decide; a number that contradicts one (a demand of 0 A where the fact says some) gives way to it. A fact that is
// left out may be anything: it takes what an undisturbed session would say.
import type { MessageObservation } from '../../trace/observation.ts';
import { answerBody, type AnswerWords } from './answer-bodies.ts';
import { goodIsolation, type ChargerStatus, type SystemCProtocol } from './body-parts.ts';
import type { FACT_VALUES } from './event.ts';
import { requestBody, type RequestWords } from './request-bodies.ts';

/** A message by its name, with the facts that are decided. */
export interface Wanted {
  readonly message: string;
  readonly [fact: string]: string;
}

/** What a message says beside its facts. */
export interface Numbers extends Pick<
  RequestWords,
  'targetVoltage_V' | 'targetCurrent_A' | 'vehicleId'
> {
  stateOfCharge_percent: number;
  /** EVErrorCode where the vehicle has a fault. */
  errorCode: string;
  vehicleLimits: RequestWords['limits'];
  chargerLimits: AnswerWords['limits'];
  minimum: AnswerWords['minimum'];
  ripple_A: number;
  presentVoltage_V: number;
  presentCurrent_A: number;
  reached: AnswerWords['reached'];
  chargerId: string;
  meter_Wh: number;
  /** NotificationMaxDelay of a stop that is not asked for at once, or of a renegotiation. */
  noticeDelay_s: number;
  /** Eight bytes in hexadecimal: this session's id, and one that is not. */
  sessionId: string;
  foreignSessionId: string;
}

export type Composed = Pick<MessageObservation, 'name' | 'message' | 'protocol' | 'header'>;

const USUAL: Omit<Numbers, 'chargerId'> = Object.freeze({
  stateOfCharge_percent: 50,
  errorCode: 'FAILED_EVRESSMalfunction',
  targetVoltage_V: 350,
  targetCurrent_A: 1,
  vehicleId: '020000000001',
  vehicleLimits: { voltage_V: 420, current_A: 250 },
  chargerLimits: { voltage_V: 500, current_A: 300, power_W: 150_000 },
  minimum: { voltage_V: 150, current_A: 1 },
  ripple_A: 1,
  presentVoltage_V: 0,
  presentCurrent_A: 0,
  reached: { voltage: false, current: false, power: false },
  meter_Wh: 0,
  noticeDelay_s: 60,
  sessionId: 'A1B2C3D4E5F60708',
  foreignSessionId: '5E4D3C2B1A090807',
});

/** Zero asks for a new session (ISO 15118-2 8.4.2). */
const NO_SESSION = '00';
/** DIN SPEC 70121 has zero for a charger without an id of its own. */
const CHARGER_ID = { din70121: '00', 'iso15118-2': 'ZZSMFE0001' } as const;
/** The least current a request can name. */
const LEAST_A = 0.1;

/**
 * The message a side sends. Throws RangeError for a message or a fact the protocol has no words for. Two facts have no
 * words of their own and take the nearest: DIN's charger without a monitor leaves its isolation status out, and the
 * handshake fails in one way only.
 */
export function compose(
  protocol: SystemCProtocol,
  wanted: Wanted,
  numbers: Partial<Numbers> = {},
): Composed {
  const { message: name } = wanted;
  const all: Numbers = { ...USUAL, chargerId: CHARGER_ID[protocol], ...numbers };
  const short = name.slice(0, -3);
  const message = name.endsWith('Req')
    ? requestBody(protocol, short, requestWords(protocol, wanted, all))
    : answerBody(protocol, short, answerWords(protocol, wanted, all));
  if (message === undefined) throw new RangeError(`${protocol} has no words for ${name}`);
  if (short === 'supportedAppProtocol') return { name, message, protocol: 'app-protocol' };
  return { name, message, protocol, header: { SessionID: sessionId(wanted, all) } };
}

function sessionId({ message, session }: Wanted, numbers: Numbers): string {
  if (session === 'foreign') return numbers.foreignSessionId;
  if (message === 'SessionSetupReq' && session !== 'old') return NO_SESSION;
  return numbers.sessionId;
}

function requestWords(protocol: SystemCProtocol, wanted: Wanted, numbers: Numbers): RequestWords {
  const { message, progress, complete, ready, error, payment, ending } = wanted;
  if (protocol === 'din70121' && (progress === 'renegotiate' || ending === 'pause')) {
    throw new RangeError(`din70121 has no words for ${message} ${progress ?? ending}`);
  }
  const stops = progress === 'stop';
  // A vehicle with a fault, or before its cable is checked, is not ready.
  const usuallyReady = error !== 'fault' && message !== 'ChargeParameterDiscoveryReq';
  return {
    vehicle: {
      ready: ready === undefined ? usuallyReady : ready === 'yes',
      error: errorCode(error, numbers),
      stateOfCharge_percent: Math.round(numbers.stateOfCharge_percent),
    },
    limits: numbers.vehicleLimits,
    targetVoltage_V: numbers.targetVoltage_V,
    targetCurrent_A: demanded_A(wanted.demand, numbers.targetCurrent_A),
    complete: complete === undefined ? stops : complete === 'yes',
    progress: stops ? 'Stop' : progress === 'renegotiate' ? 'Renegotiate' : 'Start',
    payment: payment === 'contract' ? 'Contract' : 'ExternalPayment',
    ending: ending === 'pause' ? 'Pause' : 'Terminate',
    vehicleId: numbers.vehicleId,
    sessionId: numbers.sessionId,
    meter_Wh: numbers.meter_Wh,
  };
}

function errorCode(error: string | undefined, numbers: Numbers): string {
  if (error === 'fault') return numbers.errorCode;
  return error === 'unknown' ? 'NoData' : 'NO_ERROR';
}

function demanded_A(demand: string | undefined, target_A: number): number {
  if (demand === 'none') return 0;
  return demand === 'some' ? Math.max(LEAST_A, target_A) : target_A;
}

type Word<F extends keyof typeof FACT_VALUES> = (typeof FACT_VALUES)[F][number];

const CODES: Readonly<Record<Word<'code'>, string>> = {
  ok: 'OK',
  failed: 'FAILED',
  'sequence error': 'FAILED_SequenceError',
  'unknown session': 'FAILED_UnknownSession',
};

const STATUS: Readonly<Record<Word<'status'>, string>> = {
  ready: 'EVSE_Ready',
  'not ready': 'EVSE_NotReady',
  monitoring: 'EVSE_IsolationMonitoringActive',
  shutdown: 'EVSE_Shutdown',
  emergency: 'EVSE_EmergencyShutdown',
  malfunction: 'EVSE_Malfunction',
  other: 'EVSE_UtilityInterruptEvent',
};

const PROCESSING: Readonly<Record<Word<'processing'>, AnswerWords['processing']>> = {
  finished: 'Finished',
  ongoing: 'Ongoing',
  'waiting for customer': 'Ongoing_WaitingForCustomerInteraction',
};

function answerWords(protocol: SystemCProtocol, wanted: Wanted, numbers: Numbers): AnswerWords {
  const { vehicleLimits: _, chargerLimits: limits, ...others } = numbers;
  return {
    ...others,
    limits,
    code: responseCode(wanted),
    charger: chargerStatus(protocol, wanted, numbers),
    processing: word(PROCESSING, wanted.processing ?? 'finished', wanted),
    receipt: wanted.receipt === 'yes',
  };
}

function responseCode(wanted: Wanted): string {
  const { message, code = 'ok' } = wanted;
  if (message === 'supportedAppProtocolRes') {
    return code === 'ok' ? 'OK_SuccessfulNegotiation' : 'Failed_NoNegotiation';
  }
  if (message === 'SessionSetupRes' && code === 'ok') return 'OK_NewSessionEstablished';
  return word(CODES, code, wanted);
}

function chargerStatus(protocol: SystemCProtocol, wanted: Wanted, numbers: Numbers): ChargerStatus {
  const tests = wanted.message === 'CableCheckRes' && wanted.processing === 'ongoing';
  const untested = tests || wanted.message === 'ChargeParameterDiscoveryRes';
  const status = wanted.status ?? (tests ? 'monitoring' : untested ? 'not ready' : 'ready');
  const isolation = wanted.isolation ?? (untested ? 'invalid' : 'valid');
  const later = wanted.notification === 'stop later' || wanted.notification === 'renegotiate';
  const stops = wanted.notification === 'stop now' || wanted.notification === 'stop later';
  return {
    status: word(STATUS, status, wanted),
    isolation: isolationWord(protocol, isolation),
    notification: stops ? 'StopCharging' : later ? 'ReNegotiation' : 'None',
    delay_s: later ? Math.max(1, Math.round(numbers.noticeDelay_s)) : 0,
  };
}

function isolationWord(protocol: SystemCProtocol, isolation: string): string | null {
  if (isolation === 'valid') return goodIsolation[protocol];
  if (isolation === 'no monitor') return protocol === 'din70121' ? null : 'No_IMD';
  if (isolation === 'unknown') return null;
  return isolation.charAt(0).toUpperCase() + isolation.slice(1);
}

function word<W>(words: Readonly<Record<string, W>>, key: string, wanted: Wanted): W {
  if (Object.hasOwn(words, key)) return words[key]!;
  throw new RangeError(`no words for ${key} in ${wanted.message}`);
}
