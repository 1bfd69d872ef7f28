// Where a charger's output may be live: cable check, pre-charge, energy transfer, and renegotiation (ISO 15118-2).
// Every OK that makes or keeps the output live rests on its own sight of pilot C or D (P1).
import { drive, type Chart, type Output, type Step } from '../../src/machine/chart.ts';
import type { MachineEvent } from '../../src/machine/convention.ts';
import {
  answer,
  answers,
  expects,
  fails,
  loop,
  ok,
  OVER,
  stops,
  type On,
} from './charger-pieces.ts';
import type { SystemC } from './protocol.ts';

const off: Output = drive('output', 'off');
const STARTING = '#charger.transfer.starting';
const REFUSING = '#charger.transfer.startingOff';

const isC = ({ pilot }: MachineEvent): boolean => pilot === 'C' || pilot === 'D';

/** PowerDelivery start: power is granted only to a vehicle without an error of its own (10.1). */
const starts: readonly Step[] = [
  {
    guard: ({ event }) => event.progress === 'start' && event.error !== 'fault',
    target: STARTING,
  },
  { guard: ({ event }) => event.progress === 'start', target: REFUSING },
];

/** C or D must be seen in 1.5 s (4.6), the test ended in 38 s (4.4). */
export function cableCheck(protocol: SystemC): Chart {
  const message = 'CableCheck';
  const overdue = '#charger.preparing.cableCheck.overdue';
  const round = (pilot: (state: string) => On, finish: On): Readonly<Record<string, Chart>> => ({
    expects: expects(protocol, 'expects CableCheckReq', {
      CableCheckReq: { target: 'answers' },
      ...stops(protocol),
      ...pilot('expects'),
    }),
    answers: answers(protocol, message, {
      'choose.ongoing': ok(message, 'expects', { processing: 'ongoing' }),
      ...finish,
      ...pilot('answers'),
    }),
  });
  const seen = (state: string): On => ({
    'sense.pilot': {
      guard: ({ event }) => isC(event),
      target: `#charger.preparing.cableCheck.testing.live.${state}`,
    },
  });
  const lost = (): On => ({
    'sense.pilot': { guard: ({ event }) => !isC(event), target: overdue, actions: [off] },
  });
  return {
    tags: ['cable check'],
    initial: 'ready',
    states: {
      ready: expects(protocol, 'expects CableCheckReq', {
        CableCheckReq: { target: 'testing.detecting.answers' },
        ...stops(protocol),
      }),
      testing: {
        initial: 'detecting',
        after: { V2G_SECC_CableCheck_Performance_Time: overdue },
        states: {
          detecting: {
            initial: 'answers',
            after: { V2G_SECC_CPState_Detection_Timeout: overdue },
            states: round(seen, {}),
          },
          live: {
            initial: 'answers',
            entry: [drive('output', 'test')],
            states: round(lost, finishes()),
          },
        },
      },
      overdue: {
        ...expects(protocol, 'must fail the cable check', {
          CableCheckReq: {},
          ...fails(message),
          ...stops(protocol),
        }),
        entry: [off],
      },
    },
  };
}

/** Finished only with a test that passed (10.1); CableCheckRes FAILED when it did not (V2G2-585). */
function finishes(): On {
  return {
    'choose.finish test': [
      {
        guard: ({ event }) => event.isolation === 'valid' || event.isolation === 'warning',
        target: '#charger.preparing.preCharge',
        actions: [
          off,
          {
            type: 'send',
            params: ({ event }) => ({
              message: 'CableCheckRes',
              session: 'this',
              code: 'ok',
              processing: 'finished',
              isolation: event.isolation!,
            }),
          },
        ],
      },
      { target: OVER, actions: [off, answer('CableCheck', { code: 'failed' })] },
    ],
  };
}

/** At most 2 A at what the vehicle asks, for a vehicle that is ready, without error, and in state C or D. */
export function preCharge(protocol: SystemC): Chart {
  const message = 'PreCharge';
  const requests: On = {
    PreChargeReq: [
      {
        guard: ({ event }) => event.ready === 'yes' && event.error === 'none',
        target: '#charger.preparing.preCharge.answers',
      },
      { target: '#charger.preparing.preCharge.answersOff', actions: [off] },
    ],
  };
  const lost: On = {
    'sense.pilot': { guard: ({ event }) => !isC(event), actions: [off] },
  };
  return {
    tags: ['pre-charge'],
    initial: 'ready',
    states: {
      ready: expects(protocol, 'expects PreChargeReq', { ...requests, ...stops(protocol) }),
      answers: answers(protocol, message, {
        'choose.answer': [
          {
            guard: ({ event }) => isC(event),
            ...ok(message, 'expects', {}, [drive('output', 'precharge')]),
          },
          ok(message, 'expects', {}, [off]),
        ],
        ...lost,
      }),
      answersOff: answers(protocol, message, { 'choose.answer': ok(message, 'expects') }),
      expects: expects(protocol, 'expects PreChargeReq or PowerDeliveryReq', {
        ...requests,
        ...stops(protocol, starts),
        ...lost,
      }),
    },
  };
}

/** What takes the charger's own consent back (10.1): it may go on answering, but not delivering. */
function withdraws({ pilot, status, isolation }: MachineEvent): boolean {
  if (pilot !== 'C') return true;
  if (['not ready', 'shutdown', 'emergency', 'malfunction'].includes(status!)) return true;
  return isolation !== 'valid' && isolation !== 'warning';
}

const reports = (message: string): Output => ({
  type: 'send',
  params: ({ event }) => ({
    message,
    session: 'this',
    code: 'ok',
    isolation: event.isolation!,
    status: event.status!,
  }),
});

export function transfer(protocol: SystemC): Chart {
  const delivery = 'PowerDelivery';
  const off_ = '#charger.transfer.off';
  return {
    tags: ['energy transfer'],
    initial: 'starting',
    states: {
      starting: answers(protocol, delivery, {
        'choose.answer': [
          {
            guard: ({ event }) => isC(event) && event.status === 'ready',
            ...ok(delivery, 'on', { status: 'ready' }, [drive('output', 'on')]),
          },
          {
            guard: ({ event }) => event.status !== 'ready',
            target: off_,
            actions: [
              off,
              {
                type: 'send',
                params: ({ event }) => ({
                  message: 'PowerDeliveryRes',
                  session: 'this',
                  code: 'ok',
                  status: event.status!,
                }),
              },
            ],
          },
        ],
      }),
      startingOff: answers(protocol, delivery, {
        'choose.answer': ok(delivery, 'off', {}, [off]),
      }),
      on: delivering(protocol, 'on', (message) => [
        {
          guard: ({ event }) => withdraws(event),
          target: `${off_}.expects`,
          actions: [off, reports(message)],
        },
        { target: 'expects', actions: [reports(message)] },
      ]),
      // Switched off after a withdrawal: it answers, and nothing in this session brings the output back (P9).
      off: delivering(protocol, 'off', (message) => [ok(message.replace(/Res$/, ''), 'expects')]),
    },
  };
}

/** The CurrentDemand loop, with the output on or off. */
function delivering(
  protocol: SystemC,
  output: 'on' | 'off',
  settle: (message: string) => readonly Step[],
): Chart {
  const at = (state: string): string => `#charger.transfer.off.${state}`;
  const lost = (state: string): On =>
    output === 'on'
      ? {
          'sense.pilot': {
            guard: ({ event }) => !isC(event),
            target: at(state),
            actions: [off],
          },
        }
      : {};
  const refuses = ({ error, ready, complete }: MachineEvent): boolean =>
    error === 'fault' || ready === 'no' || complete === 'yes';
  const renegotiates: Step = {
    guard: ({ event }) => event.progress === 'renegotiate',
    target: '#charger.renegotiating',
  };
  return {
    initial: 'expects',
    states: {
      expects: expects(protocol, 'expects CurrentDemandReq or PowerDeliveryReq', {
        CurrentDemandReq: [
          { guard: ({ event }) => refuses(event), target: at('answers'), actions: [off] },
          { target: 'answers' },
        ],
        ...(protocol.contract ? { MeteringReceiptReq: { target: 'answersReceipt' } } : {}),
        ...stops(protocol, protocol.renegotiation ? [renegotiates] : []),
        ...lost('expects'),
      }),
      answers: answers(protocol, 'CurrentDemand', {
        'choose.answer': settle('CurrentDemandRes'),
        ...lost('answers'),
      }),
      ...(protocol.contract
        ? {
            answersReceipt: answers(protocol, 'MeteringReceipt', {
              'choose.answer': settle('MeteringReceiptRes'),
              ...lost('answersReceipt'),
            }),
          }
        : {}),
    },
  };
}

/** Renegotiation withdraws the power; cable check and pre-charge may run again or not (4.1). */
export function renegotiating(protocol: SystemC): Chart {
  return {
    tags: ['energy transfer'],
    initial: 'answers',
    states: {
      answers: answers(protocol, 'PowerDelivery', {
        'choose.answer': ok('PowerDelivery', 'parameters', {}, [off]),
      }),
      parameters: loop(protocol, {
        message: 'ChargeParameterDiscovery',
        path: 'renegotiating.parameters',
        done: '#charger.renegotiating.settled',
        also: stops(protocol),
        customer: false,
      }),
      settled: expects(protocol, 'expects PowerDeliveryReq, CableCheckReq or PreChargeReq', {
        CableCheckReq: { target: '#charger.preparing.cableCheck.testing.detecting.answers' },
        PreChargeReq: { target: '#charger.preparing.preCharge.answersOff' },
        ...stops(protocol, starts),
      }),
    },
  };
}
