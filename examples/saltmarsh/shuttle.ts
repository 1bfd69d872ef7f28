// The shuttles of the Saltmarsh Ferry Terminal (invented): a vehicle of DIN SPEC 70121 that gives up on any answer it
// does not expect, and on none in time. What differs from release to release is a `Release`.
import { createSideMachine, drive, type Chart, type SideMachine, type Step } from 'handfast';
import {
  answers,
  asks,
  asksUntilFinished,
  asksWith,
  isAlarm,
  isOngoing,
  isWell,
  OVER,
  request,
  STOPS,
  waits,
} from './pieces.ts';

export interface Release {
  /** How long pre-charge may take before the shuttle gives up. */
  preCharge_ms: number;
  /** Looks at its own voltmeter before it closes the contactor. */
  looksAtGate: boolean;
  /** Asks for WeldingDetection before it ends the session. */
  checksForWelds: boolean;
}

const stop: Step = { target: STOPS, actions: [request('PowerDelivery', { progress: 'stop' })] };
const tellsWeld = { actions: [drive('alarm', 'fault')] };

const time = (ms: number) => ({
  ms,
  confidence: 'from memory' as const,
  source: 'DIN SPEC 70121 9.6',
});

export function shuttle(release: Release): SideMachine {
  return createSideMachine({
    id: 'shuttle',
    side: 'vehicle',
    protocol: 'din70121',
    delays: {
      answer: time(2000),
      answer_in_transfer: time(250),
      power_answer: time(5000),
      next_request: time(40_000),
      pre_charge: time(release.preCharge_ms),
    },
    alphabet: {
      ...answers,
      'link.closed': {},
      'choose.next': { locked: ['yes', 'no'], demand: ['some', 'none'], cells: ['within', 'full'] },
      'choose.power': { gate: ['inside', 'outside'] },
      'choose.stop': {},
      'choose.open': { current: ['none', 'low', 'flowing'] },
      'choose.unlock': { inlet: ['safe', 'live'] },
      'signal.crash': {},
      'signal.weld': {},
    },
    chart: {
      initial: 'handshake',
      on: {
        'link.closed': OVER,
        'signal.crash': '#shuttle.crashed',
        'signal.weld': { target: OVER, ...tellsWeld },
      },
      states: {
        ...setup(),
        ...cableCheck(),
        preCharge: preCharge(release),
        ...transfer(),
        ...shutdown(release),
      },
    },
  });
}

function setup(): Record<string, Chart> {
  const pays = request('ServicePaymentSelection', { payment: 'external' });
  return {
    handshake: asks('supportedAppProtocol', 'initialisation', [{ target: '#shuttle.setup' }]),
    setup: asks('SessionSetup', 'initialisation', [{ target: '#shuttle.services' }]),
    services: asks('ServiceDiscovery', 'initialisation', [{ target: '#shuttle.payment' }]),
    payment: asksWith(
      { target: 'waits', actions: [pays] },
      'ServicePaymentSelection',
      'initialisation',
      [{ target: '#shuttle.authorization' }],
    ),
    authorization: asksUntilFinished('ContractAuthentication', '#shuttle.parameters'),
    parameters: asksUntilFinished('ChargeParameterDiscovery', '#shuttle.locks'),
  };
}

function cableCheck(): Record<string, Chart> {
  return {
    locks: {
      tags: ['cable check'],
      entry: [drive('lock', 'locked')],
      description: 'locks its inlet',
      on: {
        'choose.next': {
          guard: ({ event }) => event.locked === 'yes',
          target: 'tests.waits',
          actions: [drive('pilot', 'C'), request('CableCheck')],
        },
      },
      after: { next_request: OVER },
    },
    tests: asks('CableCheck', 'cable check', [
      { guard: ({ event }) => isAlarm(event), target: OVER },
      { guard: ({ event }) => isOngoing(event), target: 'asks' },
      {
        guard: ({ event }) => event.isolation === 'valid' || event.isolation === 'warning',
        target: '#shuttle.preCharge',
      },
    ]),
  };
}

function preCharge({ looksAtGate }: Release): Chart {
  const again: Step = { target: 'waits', actions: [request('PreCharge', { error: 'none' })] };
  const power: Step = {
    target: '#shuttle.starts',
    actions: [
      request('PowerDelivery', { progress: 'start', error: 'none' }),
      drive('contactors', 'closed'),
    ],
  };
  const asking = asksWith(again, 'PreCharge', 'pre-charge', [
    { guard: ({ event }) => isWell(event), target: 'matches' },
  ]);
  return {
    ...asking,
    after: { pre_charge: OVER },
    states: {
      ...asking.states,
      matches: {
        description: 'compares its voltages',
        on: {
          'choose.next': again,
          'choose.power': looksAtGate
            ? { guard: ({ event }) => event.gate === 'inside', ...power }
            : power,
        },
        after: { next_request: OVER },
      },
    },
  };
}

function transfer(): Record<string, Chart> {
  const well: Step = { guard: ({ event }) => isWell(event), target: '#shuttle.transfer' };
  const facts = { session: 'this', ready: 'yes', error: 'none', complete: 'no' };
  const demand: Step = {
    // The pack is charged by its weakest cell.
    guard: ({ event }) => event.demand === 'none' || event.cells !== 'full',
    target: 'waits',
    actions: [
      {
        type: 'send',
        params: ({ event }) => ({ message: 'CurrentDemandReq', ...facts, demand: event.demand! }),
      },
    ],
  };
  return {
    starts: { tags: ['energy transfer'], ...waits('PowerDelivery', 'power_answer', [well, stop]) },
    transfer: {
      tags: ['energy transfer'],
      initial: 'asks',
      states: {
        asks: {
          description: 'sends CurrentDemandReq or stops',
          on: { 'choose.next': demand, 'choose.stop': stop },
          after: { next_request: OVER },
        },
        waits: waits('CurrentDemand', 'answer_in_transfer', [well, stop]),
      },
    },
  };
}

const opens = (target: string): Chart['on'] & object => ({
  'choose.open': {
    guard: ({ event }) => event.current !== 'flowing',
    target,
    actions: [drive('contactors', 'open')],
  },
});

function shutdown({ checksForWelds }: Release): Record<string, Chart> {
  const open: Chart = {
    description: 'has ended the session, contactors open',
    on: {
      'choose.unlock': {
        guard: ({ event }) => event.inlet === 'safe',
        target: 'unlocked',
        actions: [drive('lock', 'unlocked')],
      },
    },
  };
  const unlocked: Chart = { description: 'has ended the session, unlocked' };
  const checks = asks('WeldingDetection', 'shutdown', [{ target: '#shuttle.ends' }]);
  const ends = asks('SessionStop', 'shutdown', []);
  return {
    stops: {
      tags: ['shutdown'],
      ...waits('PowerDelivery', 'power_answer', [{ target: 'opening' }]),
    },
    opening: {
      tags: ['shutdown'],
      description: 'opens its contactors',
      on: opens('stopped'),
      after: { next_request: OVER },
    },
    // C to B comes before WeldingDetectionReq and SessionStopReq (DIN SPEC 70121 7.2).
    stopped: { ...(checksForWelds ? checks : ends), entry: [drive('pilot', 'B')] },
    ...(checksForWelds ? { ends } : {}),
    over: {
      tags: ['shutdown'],
      entry: [drive('pilot', 'B')],
      on: { 'link.closed': {}, 'signal.weld': tellsWeld },
      initial: 'opening',
      states: {
        opening: { description: 'has ended the session', on: opens('open') },
        open,
        unlocked,
      },
    },
    crashed: {
      tags: ['shutdown'],
      entry: [drive('contactors', 'open'), drive('pilot', 'B')],
      on: { 'link.closed': {}, 'signal.crash': {}, 'signal.weld': tellsWeld },
      initial: 'open',
      states: { open, unlocked },
    },
  };
}
