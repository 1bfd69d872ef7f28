// Cable check and pre-charge of the charger. Every OK that makes the output live rests on its own sight of pilot C.
import { drive, type Chart, type Step } from '../../src/machine/chart.ts';
import { answer, answers, expects, fails, ok, OVER, stops, type On } from './charger-pieces.ts';
import { isC, off, starts } from './charger-consent.ts';
import type { SystemC } from './protocol.ts';

function seen(state: string): On {
  return {
    'sense.pilot': {
      guard: ({ event }) => isC(event),
      target: `#charger.preparing.cableCheck.testing.live.${state}`,
    },
  };
}

/** C or D must be seen in 1.5 s after the request, and the test be over in 38 s (DIN SPEC 70121 9.6). */
export function cableCheck(protocol: SystemC): Chart {
  const message = 'CableCheck';
  const overdue = '#charger.preparing.cableCheck.overdue';
  // A vehicle with a fault of its own has not agreed to a test.
  const asked = (target: string): readonly Step[] => [
    { guard: ({ event }) => event.error === 'fault', target: overdue, actions: [off] },
    { target },
  ];
  const round = (pilot: (state: string) => On, finish: On): Readonly<Record<string, Chart>> => ({
    expects: expects(protocol, 'expects CableCheckReq', {
      CableCheckReq: asked('answers'),
      ...stops(protocol),
      ...pilot('expects'),
    }),
    answers: answers(protocol, message, {
      'choose.ongoing': ok(message, 'expects', { processing: 'ongoing' }),
      ...finish,
      ...pilot('answers'),
    }),
  });
  const lost = (): On => ({
    'sense.pilot': { guard: ({ event }) => !isC(event), target: overdue, actions: [off] },
  });
  return {
    tags: ['cable check'],
    initial: 'ready',
    states: {
      ready: expects(protocol, 'expects CableCheckReq', {
        CableCheckReq: asked('testing.detecting.answers'),
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

/** Finished only with a test that passed; CableCheckRes FAILED when it did not (V2G2-585). */
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
      }),
      answersOff: answers(protocol, message, { 'choose.answer': ok(message, 'expects') }),
      expects: expects(protocol, 'expects PreChargeReq or PowerDeliveryReq', {
        ...requests,
        ...stops(protocol, starts),
      }),
    },
  };
}
