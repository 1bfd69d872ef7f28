// Cable check and pre-charge of the charger. Every OK that makes the output live rests on its own sight of pilot C.
import { drive, type Chart, type Step } from '../../src/machine/chart.ts';
import type { MachineEvent } from '../../src/machine/convention.ts';
import { answer, answers, expects, fails, OVER, stops, type On } from './charger-pieces.ts';
import {
  breaksOff,
  isC,
  losesTest,
  notifies,
  off,
  reports,
  starts,
  startsOff,
  withdraws,
} from './charger-consent.ts';
import type { SystemC } from './protocol.ts';

function seen(state: string): On {
  return {
    'sense.pilot': {
      guard: ({ event }) => isC(event),
      target: `#charger.preparing.cableCheck.testing.live.${state}`,
    },
  };
}

const OVERDUE = '#charger.preparing.cableCheck.overdue';

/** A vehicle with a fault of its own has not agreed to a test. */
export const testsFor = (target: string): readonly Step[] => [
  { guard: ({ event }) => event.error === 'fault', target: OVERDUE, actions: [off] },
  { target },
];

/** C or D must be seen in 1.5 s after the request, and the test be over in 38 s (DIN SPEC 70121 9.6). */
export function cableCheck(protocol: SystemC): Chart {
  const message = 'CableCheck';
  const overdue = OVERDUE;
  const ongoing = notifies(`${message}Res`, { processing: 'ongoing' });
  const goesOn: Step[] = [
    { guard: ({ event }) => breaksOff(event), target: overdue, actions: [off, ongoing] },
    { target: 'expects', actions: [ongoing] },
  ];
  const round = (pilot: (state: string) => On, finish: On): Readonly<Record<string, Chart>> => ({
    expects: expects(protocol, 'expects CableCheckReq', {
      CableCheckReq: testsFor('answers'),
      ...stops(protocol),
      ...pilot('expects'),
    }),
    answers: answers(protocol, message, {
      'choose.ongoing': goesOn,
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
        CableCheckReq: testsFor('testing.detecting.answers'),
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

const passed = ({ isolation }: MachineEvent): boolean =>
  isolation === 'valid' || isolation === 'warning';

// One that asks to stop at once has not agreed to go on.
const finished = reports('CableCheckRes', { processing: 'finished', notification: 'none' });

/** Finished only with a test that passed; CableCheckRes FAILED when it did not (V2G2-585). */
function finishes(): On {
  return {
    'choose.finish test': [
      {
        guard: ({ event }) => passed(event) && withdrawsApproach(event),
        target: '#charger.preparing.preCharge.offExpects',
        actions: [off, finished],
      },
      {
        guard: ({ event }) => passed(event),
        target: '#charger.preparing.preCharge',
        actions: [off, finished],
      },
      { target: OVER, actions: [off, answer('CableCheck', { code: 'failed' })] },
    ],
  };
}

/** The charger's own no to the approach: without a new test nothing brings the output up again. */
const withdrawsApproach = (event: MachineEvent): boolean =>
  breaksOff(event) || event.status === 'not ready' || event.isolation === 'invalid';

/** At most 2 A at what the vehicle asks, for a vehicle that is ready, without error, and in state C or D. */
export function preCharge(protocol: SystemC): Chart {
  const message = 'PreCharge';
  const requests: On = {
    PreChargeReq: [
      {
        guard: ({ event }) => event.ready === 'yes' && event.error === 'none',
        target: '#charger.preparing.preCharge.answers',
      },
      // A fault of the vehicle's own takes its consent back for good.
      {
        guard: ({ event }) => event.error === 'fault',
        target: '#charger.preparing.preCharge.offAnswers',
        actions: [off],
      },
      { target: '#charger.preparing.preCharge.answersOff', actions: [off] },
    ],
  };
  const goesDark: Step[] = [
    {
      guard: ({ event }) => losesTest(event),
      target: 'lostExpects',
      actions: [off, notifies(`${message}Res`)],
    },
    { target: 'offExpects', actions: [off, notifies(`${message}Res`)] },
  ];
  return {
    tags: ['pre-charge'],
    initial: 'ready',
    states: {
      ready: expects(protocol, 'expects PreChargeReq', { ...requests, ...stops(protocol) }),
      answers: answers(protocol, message, {
        'choose.answer': [
          {
            guard: ({ event }) => !withdraws(event) && !withdrawsApproach(event),
            target: 'expects',
            actions: [drive('output', 'precharge'), notifies(`${message}Res`)],
          },
          ...goesDark,
        ],
      }),
      answersOff: answers(protocol, message, {
        'choose.answer': [
          {
            guard: ({ event }) => !withdrawsApproach(event),
            target: 'expects',
            actions: [notifies(`${message}Res`)],
          },
          ...goesDark,
        ],
      }),
      expects: expects(protocol, 'expects PreChargeReq or PowerDeliveryReq', {
        ...requests,
        ...stops(protocol, starts),
      }),
      // It has taken its consent back: without a new test nothing in this session brings the output up again.
      offExpects: expects(protocol, 'expects PreChargeReq or PowerDeliveryReq', {
        PreChargeReq: { target: '#charger.preparing.preCharge.offAnswers' },
        ...stops(protocol, startsOff),
      }),
      offAnswers: answers(protocol, message, { 'choose.answer': goesDark }),
      lostExpects: expects(protocol, 'expects a stop: the isolation test is lost', stops(protocol)),
    },
  };
}
