// Cable check and pre-charge of the vehicle: it locks, signals C, lets the charger test, and closes its contactors only
// when its own reading at the inlet is inside the gate (IEC 61851-23 Annex CC).
import { drive, type Chart, type Step } from '../../src/machine/chart.ts';
import type { MachineEvent } from '../../src/machine/convention.ts';
import type { SystemC } from './protocol.ts';
import {
  decides,
  FAILING,
  isEmergency,
  isStop,
  isUntested,
  isWithdrawn,
  request,
  stops,
  tellsFault,
  waits,
  WELL,
} from './vehicle-pieces.ts';

const tested = ({ processing, isolation }: MachineEvent): boolean =>
  processing === 'finished' && (isolation === 'valid' || isolation === 'warning');

export function cableCheck(protocol: SystemC): Chart {
  return {
    tags: ['cable check'],
    initial: 'locking',
    states: {
      locking: {
        entry: [drive('lock', 'locked')],
        ...decides('may send CableCheckReq', {
          'choose.next': {
            guard: ({ event }) => event.locked === 'yes',
            target: 'testing.waits',
            actions: [drive('pilot', 'C'), request('CableCheck', WELL)],
          },
          ...tellsFault('CableCheck', 'testing.faulty'),
          ...stops(protocol),
        }),
      },
      testing: {
        after: { V2G_EVCC_CableCheck_Timeout: FAILING },
        initial: 'waits',
        states: {
          decides: decides('may send CableCheckReq again', {
            'choose.next': { target: 'waits', actions: [request('CableCheck', WELL)] },
            ...tellsFault('CableCheck', 'faulty'),
            ...stops(protocol),
          }),
          waits: waits(protocol, 'CableCheck', [
            { guard: ({ event }) => isEmergency(event), target: FAILING },
            { guard: ({ event }) => isStop(event), target: '#vehicle.preparing.mustStop' },
            { guard: ({ event }) => event.processing === 'ongoing', target: 'decides' },
            { guard: ({ event }) => tested(event), target: '#vehicle.preparing.preCharge' },
          ]),
          faulty: waits(protocol, 'CableCheck', []),
        },
      },
    },
  };
}

export function preCharge(protocol: SystemC): Chart {
  const again = { target: 'waits', actions: [request('PreCharge', WELL)] };
  const faulty = tellsFault('PreCharge', 'faulty');
  const breaksOff: Step[] = [
    { guard: ({ event }) => isEmergency(event), target: FAILING },
    {
      guard: ({ event }) => isUntested(event) || isStop(event),
      target: '#vehicle.preparing.mustStop',
    },
  ];
  return {
    tags: ['pre-charge'],
    initial: 'ready',
    states: {
      ready: decides('may send PreChargeReq', {
        'choose.next': { ...again, target: 'approaching.waits' },
        ...tellsFault('PreCharge', 'approaching.faulty'),
        ...stops(protocol),
      }),
      approaching: {
        after: { V2G_EVCC_PreCharge_Timeout: FAILING },
        initial: 'waits',
        states: {
          waits: waits(protocol, 'PreCharge', [
            ...breaksOff,
            { guard: ({ event }) => isWithdrawn(event), target: 'held' },
            { target: 'decides' },
          ]),
          decides: decides('may send PreChargeReq again or ask for power', {
            'choose.next': again,
            ...faulty,
            'choose.power': {
              guard: ({ event }) => event.gate === 'inside',
              target: '#vehicle.transfer.starting',
              actions: [
                request('PowerDelivery', { progress: 'start', error: 'none' }),
                drive('contactors', 'closed'),
              ],
            },
            ...stops(protocol),
          }),
          // The charger has taken its consent back: no contactor closes on it.
          held: decides('may send PreChargeReq again; the charger is not ready', {
            // A charger that is live all the same is not asked to go on.
            'choose.next': {
              ...again,
              target: 'waitsHeld',
              guard: ({ event }) => event.inlet !== 'live',
            },
            ...faulty,
            ...stops(protocol),
          }),
          waitsHeld: waits(protocol, 'PreCharge', [...breaksOff, { target: 'held' }]),
          faulty: waits(protocol, 'PreCharge', []),
        },
      },
    },
  };
}
