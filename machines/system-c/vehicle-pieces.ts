// Pieces every step of a vehicle is made of: deciding on the next request, and waiting for its answer.
import {
  drive,
  send,
  type Chart,
  type Output,
  type Step,
  type Steps,
} from '../../src/machine/chart.ts';
import type { MachineEvent } from '../../src/machine/convention.ts';
import { messageTimeout } from '../../src/protocols/system-c/timing.ts';
import { messagesOf, type SystemC } from './protocol.ts';

type On = Readonly<Record<string, Steps>>;

export const FAILING = '#vehicle.failing';
export const STOP_NOW = '#vehicle.stopNow.decides';
const STOPPING = '#vehicle.stopping';
const ENDING = '#vehicle.ending';
export const OVER = '#vehicle.over';

/** A positive answer of this session. */
function isOk({ code, session }: MachineEvent): boolean {
  return code === 'ok' && session !== 'foreign';
}

/** Stop at once at any time: emergency, malfunction, or the isolation went while it was in use. */
export function isEmergency({ status, isolation }: MachineEvent): boolean {
  return status === 'emergency' || status === 'malfunction' || isolation === 'fault';
}

/** The charger takes back its consent or asks to stop at once; less than an emergency. */
export function isWithdrawn(event: MachineEvent): boolean {
  return event.status === 'not ready' || isStop(event) || isUntested(event);
}

/** The charger asks to stop at once, or is about to switch off. */
export function isStop({ status, notification }: MachineEvent): boolean {
  return status === 'shutdown' || notification === 'stop now';
}

/** The isolation test counts no longer: nothing goes on without a new one. */
export function isUntested({ isolation }: MachineEvent): boolean {
  return isolation === 'invalid' || isolation === 'no monitor';
}

/** A request of this session. */
export function request(message: string, facts: Readonly<Record<string, string>> = {}): Output {
  return send({ message: `${message}Req`, session: 'this', ...facts });
}

/** The vehicle may send its next request, within its sequence performance time. */
export function decides(says: string, on: On): Chart {
  return {
    description: says,
    on,
    after: { V2G_EVCC_Sequence_Performance_Time: FAILING },
  };
}

/**
 * One request is in flight. A wrong answer, a FAILED code or no answer in time ends the session
 * (DIN SPEC 70121 9.6, ISO 15118-2 8.7).
 */
export function waits(protocol: SystemC, message: string, answers: readonly Step[]): Chart {
  const on: Record<string, Steps> = {};
  for (const name of messagesOf(protocol)) on[`${name}Res`] = FAILING;
  on[`${message}Res`] = [
    { guard: ({ event }) => !isOk(event), target: FAILING },
    ...answers,
    { target: FAILING },
  ];
  return {
    description: `waits for ${message}Res`,
    on,
    after: { [messageTimeout(message)]: FAILING },
  };
}

function end(ending: string): Step {
  return { target: ENDING, actions: [request('SessionStop', { ending })] };
}

/** SessionStopReq, which is allowed wherever a request is, once the session is set up. */
export function ends({ pause }: SystemC): On {
  return { 'choose.end': end('terminate'), ...(pause ? { 'choose.pause': end('pause') } : {}) };
}

/** PowerDeliveryReq Stop (DIN: false), allowed from ChargeParameterDiscoveryRes Finished on, and the end. */
export function stops(protocol: SystemC): On {
  return {
    'choose.stop': {
      target: STOPPING,
      actions: [request('PowerDelivery', { progress: 'stop' })],
    },
    ...ends(protocol),
  };
}

/** Facts of a request of a vehicle that has no fault of its own. */
export const WELL = { error: 'none' };

/** A fault of its own is told with the next request; whatever the answer, only a stop or an end follows. */
export function tellsFault(message: string, target: string): On {
  return { 'sense.fault': { target, actions: [request(message, { error: 'fault' })] } };
}

function when(processing: string, target: string): Step {
  return { guard: ({ event }) => event.processing === processing, target };
}

interface Loop {
  message: string;
  /** Where the loop stands in the chart, from the root: `preparing.authorization`. */
  path: string;
  done: string;
  /** What may be sent beside the same request again. */
  also: On;
  customer: boolean;
  /** Its request tells how the vehicle is: one with a fault says so, and gives up. */
  tells?: boolean;
  /** Answers that come before the usual ones. */
  first?: readonly Step[];
}

/** Authorization and ChargeParameterDiscovery: the same request again while the charger says Ongoing. */
export function loop(
  protocol: SystemC,
  { message, path, done, also, customer, tells = false, first = [] }: Loop,
): Chart {
  const at = (state: string): string => `#vehicle.${path}.${state}.decides`;
  const round = (): Chart => ({
    initial: 'decides',
    states: {
      decides: decides(`may send ${message}Req`, {
        'choose.next': { target: 'waits', actions: [request(message, tells ? WELL : {})] },
        ...(tells ? tellsFault(message, `#vehicle.${path}.faulty`) : {}),
        ...also,
      }),
      waits: waits(protocol, message, [
        { guard: ({ event }) => isEmergency(event), target: FAILING },
        ...first,
        when('finished', done),
        when('ongoing', at('ongoing')),
        ...(customer ? [when('waiting for customer', at('customer'))] : []),
      ]),
    },
  });
  const ongoing = round();
  return {
    initial: 'first',
    states: {
      first: round(),
      ongoing: protocol.boundsOngoing
        ? { ...ongoing, after: { V2G_EVCC_Ongoing_Timeout: FAILING } }
        : ongoing,
      // Waiting for the customer suspends the loop's timer (ISO 15118-2).
      ...(customer ? { customer: round() } : {}),
      ...(tells ? { faulty: waits(protocol, message, []) } : {}),
    },
  };
}

/** Contactors are asked to open; they do once the current is low (IEC 61851-23 Annex CC). */
export function opensWhenLow(target: string): On {
  return {
    'choose.open': {
      guard: ({ event }) => event.current !== 'flowing',
      target,
      actions: [drive('contactors', 'open')],
    },
  };
}
