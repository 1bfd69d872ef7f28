// Energy transfer of the vehicle, its reactions to a charger that asks to stop, and renegotiation (ISO 15118-2).
import { drive, type Chart, type Step, type Steps } from '../../src/machine/chart.ts';
import type { MachineEvent } from '../../src/machine/convention.ts';
import type { SystemC } from './protocol.ts';
import {
  decides,
  FAILING,
  isEmergency,
  isStop,
  isUntested,
  isWithdrawn,
  loop,
  opensWhenLow,
  request,
  STOP_NOW,
  stops,
  waits,
  WELL,
} from './vehicle-pieces.ts';

export function transfer(protocol: SystemC): Chart {
  return {
    tags: ['energy transfer'],
    initial: 'starting',
    states: {
      // Power is the charger's to give with OK and EVSE_Ready.
      starting: waits(protocol, 'PowerDelivery', [
        { guard: ({ event }) => isEmergency(event), target: STOP_NOW },
        { guard: ({ event }) => isUntested(event), target: 'notGranted.decides' },
        {
          guard: ({ event }) => event.status === 'ready' && !isWithdrawn(event),
          target: 'running.decides',
        },
        { guard: ({ event }) => event.status === 'ready', target: 'asked.decides' },
        { target: 'notGranted.decides' },
      ]),
      running: demandLoop(protocol, 'running', 'may send CurrentDemandReq'),
      // Asked to stop at once: the demand comes down and PowerDelivery stop follows.
      asked: {
        ...demandLoop(
          protocol,
          'asked',
          'may send CurrentDemandReq a little longer; asked to stop',
        ),
        after: { EV_Stop_Request_End: FAILING },
      },
      finished: spent(protocol, 'charging is complete, must stop'),
      notGranted: spent(protocol, 'power was not granted, must stop'),
    },
  };
}

/** ChargingComplete has taken the vehicle's consent back, or the charger gave none: it asks for no current, and stops. */
function spent(protocol: SystemC, says: string): Chart {
  return {
    initial: 'waits',
    states: {
      waits: waits(protocol, 'CurrentDemand', [
        { guard: ({ event }) => isEmergency(event), target: STOP_NOW },
        { target: 'decides' },
      ]),
      decides: decides(says, {
        'choose.next': {
          target: 'waits',
          actions: [request('CurrentDemand', { demand: 'none' })],
        },
        ...stops(protocol),
      }),
    },
  };
}

/**
 * The CurrentDemand loop, in two copies: once the charger has taken its consent back, no later word of it gives the
 * consent again, so the vehicle stays in the second.
 */
function demandLoop(protocol: SystemC, copy: 'running' | 'asked', says: string): Chart {
  const next = choices(protocol, copy);
  const answers = settles(protocol, copy);
  return {
    initial: 'decides',
    states: {
      decides: decides(says, next),
      waits: waits(protocol, 'CurrentDemand', answers),
      ...(protocol.contract
        ? {
            owesReceipt: decides(`${says} or MeteringReceiptReq`, {
              ...next,
              'choose.receipt': {
                target: 'waitsForReceipt',
                actions: [request('MeteringReceipt')],
              },
            }),
            waitsForReceipt: waits(protocol, 'MeteringReceipt', answers),
          }
        : {}),
    },
  };
}

/** A pack is charged by its weakest cell: once that is at its limit the vehicle asks for no current. */
function demands(target: string, facts: Readonly<Record<string, string>>): Step {
  return {
    guard: ({ event }) => event.demand === 'none' || event.cells !== 'full',
    target,
    actions: [
      {
        type: 'send',
        params: ({ event }) => ({
          message: 'CurrentDemandReq',
          session: 'this',
          ...facts,
          demand: event.demand!,
        }),
      },
    ],
  };
}

function choices(protocol: SystemC, copy: string): Readonly<Record<string, Steps>> {
  const well = { ready: 'yes', error: 'none' };
  return {
    'choose.next': demands('waits', { ...well, complete: 'no' }),
    'choose.complete': demands(at('finished.waits'), { ...well, complete: 'yes' }),
    // A vehicle with a fault of its own says so, then stops.
    'sense.fault': demands('#vehicle.stopNow.waits', { error: 'fault' }),
    'choose.not ready': demands('#vehicle.stopNow.waits', { ready: 'no' }),
    // One that was asked to stop, stops.
    ...(protocol.renegotiation && copy === 'running'
      ? {
          'choose.renegotiate': {
            target: '#vehicle.renegotiating',
            actions: [request('PowerDelivery', { progress: 'renegotiate', ...WELL })],
          },
        }
      : {}),
    ...stops(protocol),
  };
}

const owes = ({ receipt }: MachineEvent): boolean => receipt === 'yes';

const at = (state: string): string => `#vehicle.transfer.${state}`;

function settles({ contract }: SystemC, copy: 'running' | 'asked'): Step[] {
  const copies = contract
    ? [
        {
          guard: ({ event }: { event: MachineEvent }) => isWithdrawn(event) && owes(event),
          target: at('asked.owesReceipt'),
        },
        {
          guard: ({ event }: { event: MachineEvent }) => !isWithdrawn(event) && owes(event),
          target: at(`${copy}.owesReceipt`),
        },
      ]
    : [];
  return [
    { guard: ({ event }) => isEmergency(event), target: STOP_NOW },
    ...copies,
    { guard: ({ event }) => isWithdrawn(event), target: at('asked.decides') },
    { target: at(`${copy}.decides`) },
  ];
}

/** Emergency, or a fault of its own: the next request is a stop, an end, or asks 0 A. */
export function stopNow(protocol: SystemC): Chart {
  return {
    tags: ['energy transfer'],
    entry: [drive('pilot', 'B')],
    initial: 'decides',
    states: {
      decides: decides('must stop now', {
        'choose.next': {
          target: 'waits',
          actions: [request('CurrentDemand', { demand: 'none' })],
        },
        ...stops(protocol),
      }),
      waits: waits(protocol, 'CurrentDemand', [{ target: 'decides' }]),
    },
  };
}

const checksAgain: Readonly<Record<string, Steps>> = {
  'choose.cable check again': {
    target: '#vehicle.preparing.cableCheck.testing.waits',
    actions: [request('CableCheck', WELL)],
  },
};

const powerAgain: Readonly<Record<string, Steps>> = {
  'choose.power': {
    target: '#vehicle.transfer.starting',
    actions: [request('PowerDelivery', { progress: 'start', ...WELL })],
  },
};

const ASKED_TO_STOP = '#vehicle.renegotiating.asked';

/** What the charger says of itself, as far as it decides what the way back to power is. */
const MOODS = {
  untested: isUntested,
  held: ({ status }: MachineEvent): boolean => status === 'not ready',
};

const says = (mood: keyof typeof MOODS, processing: string, target: string): Step => ({
  guard: ({ event }) => event.processing === processing && MOODS[mood](event),
  target: `#vehicle.renegotiating.${target}`,
});

/** A vehicle with a fault of its own stops; it asks for no new parameters. */
function parameters(protocol: SystemC, state: string, settled: string): Chart {
  const held = settled === 'settled' ? 'heldSettled' : settled;
  return loop(protocol, {
    message: 'ChargeParameterDiscovery',
    path: `renegotiating.${state}`,
    done: `#vehicle.renegotiating.${settled}`,
    also: stops(protocol),
    customer: false,
    tells: true,
    first: [
      { guard: ({ event }) => isStop(event), target: ASKED_TO_STOP },
      says('untested', 'finished', 'untestedSettled'),
      says('untested', 'ongoing', 'untestedParameters.ongoing.decides'),
      says('held', 'finished', held),
      says(
        'held',
        'ongoing',
        state === 'parameters' ? 'heldParameters.ongoing.decides' : `${state}.ongoing.decides`,
      ),
    ],
  });
}

/**
 * New parameters while the contactors may stay closed. Cable check and pre-charge may run again, with the contactors
 * opened first, or not.
 */
export function renegotiating(protocol: SystemC): Chart {
  return {
    tags: ['energy transfer'],
    initial: 'waits',
    states: {
      waits: waits(protocol, 'PowerDelivery', [
        { guard: ({ event }) => isEmergency(event), target: STOP_NOW },
        { guard: ({ event }) => isStop(event), target: 'asked' },
        { guard: ({ event }) => isUntested(event), target: 'untestedParameters' },
        { guard: ({ event }) => MOODS.held(event), target: 'heldParameters' },
        { target: 'parameters' },
      ]),
      parameters: parameters(protocol, 'parameters', 'settled'),
      heldParameters: parameters(protocol, 'heldParameters', 'heldSettled'),
      untestedParameters: parameters(protocol, 'untestedParameters', 'untestedSettled'),
      settled: decides('may ask for power again, or open first', {
        ...powerAgain,
        ...opensWhenLow('reopened'),
        ...stops(protocol),
      }),
      // The charger is not ready: power is its to give again, a pre-charge only after a new test.
      heldSettled: decides('may ask for power again, or open for a new cable check', {
        ...powerAgain,
        ...opensWhenLow('untestedReopened'),
        ...stops(protocol),
      }),
      asked: decides('asked to stop, must stop', stops(protocol)),
      // The isolation test counts no longer: the way back to power is a new one, or none.
      untestedSettled: decides('may open for a new cable check', {
        ...opensWhenLow('untestedReopened'),
        ...stops(protocol),
      }),
      untestedReopened: decides('may send CableCheckReq', { ...checksAgain, ...stops(protocol) }),
      reopened: decides('may send CableCheckReq or PreChargeReq', {
        ...checksAgain,
        'choose.pre-charge again': {
          target: '#vehicle.preparing.preCharge.approaching.waits',
          actions: [request('PreCharge', WELL)],
        },
        ...stops(protocol),
      }),
    },
  };
}
