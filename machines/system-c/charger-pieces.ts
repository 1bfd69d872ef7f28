// Pieces every step of a charger is made of: expecting the next request, and answering one.
import {
  drive,
  remember,
  send,
  type Chart,
  type Output,
  type Step,
  type Steps,
} from '../../src/machine/chart.ts';
import type { MachineEvent } from '../../src/machine/convention.ts';
import { answerTime } from '../../src/protocols/system-c/timing.ts';
import { messagesOf, type SystemC } from './protocol.ts';

export type On = Readonly<Record<string, Steps>>;

export const OVER = '#charger.over';
const REFUSES_ORDER = '#charger.refusesOrder';
const REFUSES_SESSION = '#charger.refusesSession';
export const CLOSING = '#charger.closing';

const owe: Output = remember('owed', ({ type }) => type.replace(/Req$/, 'Res'));
/** Nothing is owed any more. */
export const settled: Output = remember('owed', () => '');

/** An answer under this session's id. */
export function answer(message: string, facts: Readonly<Record<string, string>>): Output {
  const session = message === 'supportedAppProtocol' ? {} : { session: 'this' };
  return send({ message: `${message}Res`, ...session, ...facts });
}

/** A positive answer, then on to `target`. */
export function ok(message: string, target: string, facts = {}, before: Output[] = []): Step {
  return { target, actions: [...before, answer(message, { code: 'ok', ...facts })] };
}

/** A charger may always fail, for reasons of its own: the output goes off and the session is over. */
export function fails(message: string): On {
  const failed = send({ message: `${message}Res`, code: 'failed' });
  return { 'choose.fail': { target: OVER, actions: [drive('output', 'off'), failed] } };
}

/**
 * The requests that come now. Any other gets FAILED_SequenceError, and one of another session FAILED_UnknownSession
 * (DIN SPEC 70121 9.7, ISO 15118-2 8.8).
 */
export function expects(protocol: SystemC, says: string, allowed: On): Chart {
  return {
    description: says,
    on: everyRequest(protocol, allowed),
    after: { V2G_SECC_Sequence_Timeout: CLOSING },
  };
}

function everyRequest(protocol: SystemC, allowed: On): On {
  const on: Record<string, Steps> = {};
  for (const name of messagesOf(protocol)) {
    const type = `${name}Req`;
    const given = allowed[type] ?? [];
    on[type] = [
      {
        guard: ({ event }) => event.session === 'foreign',
        target: REFUSES_SESSION,
        actions: [owe],
      },
      ...(typeof given === 'string' ? [{ target: given }] : Array.isArray(given) ? given : [given]),
      { target: REFUSES_ORDER, actions: [owe] },
    ] as Step[];
  }
  for (const [type, steps] of Object.entries(allowed)) on[type] ??= steps;
  return on;
}

/** One request is to be answered, in its performance time or late; another request before that is out of order. */
export function answers(protocol: SystemC, message: string, on: On): Chart {
  return {
    initial: 'prompt',
    on: everyRequest(protocol, { ...fails(message), ...on }),
    states: {
      prompt: {
        description: `answers ${message}Req`,
        after: { [answerTime(message)]: 'late' },
      },
      late: { description: `is late to answer ${message}Req` },
    },
  };
}

/** Expecting one request and answering it with OK. */
export function exchange(protocol: SystemC, message: string, target: string, also: On = {}): Chart {
  return {
    initial: 'expects',
    states: {
      expects: expects(protocol, `expects ${message}Req`, {
        [`${message}Req`]: { target: 'answers' },
        ...also,
      }),
      answers: answers(protocol, message, { 'choose.answer': ok(message, target) }),
    },
  };
}

/** SessionStopReq, allowed wherever a request is, once the session is set up. */
export function ends(protocol: SystemC): On {
  const end: Step = { target: '#charger.ending' };
  const known: Step = { ...end, guard: ({ event }) => event.ending !== 'pause' };
  return { SessionStopReq: protocol.pause ? end : known };
}

/** PowerDeliveryReq Stop and the end, allowed from ChargeParameterDiscoveryRes Finished on. */
export function stops(protocol: SystemC, alsoDelivery: readonly Step[] = []): On {
  return {
    PowerDeliveryReq: [
      {
        guard: ({ event }) => event.progress === 'stop',
        target: '#charger.stopping',
      },
      ...alsoDelivery,
    ],
    ...ends(protocol),
  };
}

interface Loop {
  message: string;
  /** Where the loop stands in the chart, from the root: `preparing.authorization`. */
  path: string;
  done: string;
  also: On;
  customer: boolean;
  /** How it answers, where that is more than OK. */
  settles?: (processing: 'finished' | 'ongoing') => readonly Step[];
}

/** Authorization and ChargeParameterDiscovery: Ongoing until the charger has decided, within its time. */
export function loop(protocol: SystemC, parts: Loop): Chart {
  const { message, path, also, customer } = parts;
  const at = (state: string): string => `#charger.${path}.${state}`;
  const again = (processing: string, state: string): Step =>
    ok(message, at(`${state}.expects`), { processing });
  const round = (): Chart => ({
    initial: 'expects',
    states: {
      expects: expects(protocol, `expects ${message}Req`, {
        [`${message}Req`]: { target: 'answers' },
        ...also,
      }),
      answers: answers(protocol, message, {
        'choose.answer': finishes(parts),
        'choose.ongoing': parts.settles?.('ongoing') ?? again('ongoing', 'ongoing'),
        ...(customer
          ? { 'choose.wait for customer': again('waiting for customer', 'customer') }
          : {}),
      }),
    },
  });
  const after = { V2G_SECC_Ongoing_Performance_Time: at('overdue') };
  return {
    initial: 'first',
    states: {
      first: round(),
      ongoing: protocol.boundsOngoing ? { ...round(), after } : round(),
      ...(customer ? { customer: round() } : {}),
      ...(protocol.boundsOngoing ? { overdue: overdue(protocol, parts) } : {}),
    },
  };
}

function finishes({ message, done, settles }: Loop): Steps {
  return settles?.('finished') ?? ok(message, done, { processing: 'finished' });
}

/** The loop's time is up: the next answer decides. */
function overdue(protocol: SystemC, parts: Loop): Chart {
  const { message, also } = parts;
  return expects(protocol, `must decide with ${message}Res`, {
    [`${message}Req`]: {},
    'choose.answer': finishes(parts),
    ...fails(message),
    ...also,
  });
}

/** A request this charger must refuse, and how; the session is over after that. */
export function refuses(protocol: SystemC, says: string, code: string): Chart {
  return {
    tags: ['shutdown'],
    description: says,
    entry: [drive('output', 'off')],
    on: everyRequest(protocol, {
      'choose.refuse': {
        target: OVER,
        actions: [owed(() => code), settled],
      },
    }),
  };
}

function owed(code: (event: MachineEvent) => string): Output {
  return {
    type: 'send',
    params: ({ context, event }) => ({ message: context.owed!, code: code(event) }),
  };
}

/** After a FAILED answer nothing is granted any more; requests are refused, and SessionStop may be confirmed. */
export function over(protocol: SystemC): Chart {
  const requests = Object.fromEntries(
    messagesOf(protocol).map((name) => [`${name}Req`, { target: '.answers', actions: [owe] }]),
  );
  return {
    tags: ['shutdown'],
    entry: [drive('output', 'off')],
    initial: 'expects',
    on: requests,
    states: {
      expects: {
        description: 'has ended the session',
        after: { V2G_SECC_TCP_Close_Wait: CLOSING },
      },
      answers: {
        description: 'refuses whatever is asked',
        on: {
          'choose.refuse': {
            target: 'expects',
            actions: [owed(({ code }) => code!), settled],
          },
          'choose.answer': {
            guard: ({ context }) => context.owed === 'SessionStopRes',
            target: 'expects',
            actions: [owed(() => 'ok'), settled],
          },
        },
      },
    },
  };
}
