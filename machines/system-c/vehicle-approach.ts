// Cable check and pre-charge of the vehicle: it locks, signals C, lets the charger test, and closes its contactors only
// when its own reading at the inlet is inside the gate (IEC 61851-23 Annex CC).
import { drive, type Chart } from '../../src/machine/chart.ts';
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
  waits,
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
            actions: [drive('pilot', 'C'), request('CableCheck')],
          },
          ...stops(protocol),
        }),
      },
      testing: {
        after: { V2G_EVCC_CableCheck_Timeout: FAILING },
        initial: 'waits',
        states: {
          decides: decides('may send CableCheckReq again', {
            'choose.next': { target: 'waits', actions: [request('CableCheck')] },
            ...stops(protocol),
          }),
          waits: waits(protocol, 'CableCheck', [
            { guard: ({ event }) => isEmergency(event), target: FAILING },
            { guard: ({ event }) => event.processing === 'ongoing', target: 'decides' },
            { guard: ({ event }) => tested(event), target: '#vehicle.preparing.preCharge' },
          ]),
        },
      },
    },
  };
}

export function preCharge(protocol: SystemC): Chart {
  const again = { target: 'waits', actions: [request('PreCharge', { error: 'none' })] };
  // A fault of its own is told with the next request; after that only a stop or an end follows.
  const faulty = { target: 'faulty', actions: [request('PreCharge', { error: 'fault' })] };
  return {
    tags: ['pre-charge'],
    initial: 'ready',
    states: {
      ready: decides('may send PreChargeReq', {
        'choose.next': { ...again, target: 'approaching.waits' },
        'sense.fault': { ...faulty, target: 'approaching.faulty' },
        ...stops(protocol),
      }),
      approaching: {
        after: { V2G_EVCC_PreCharge_Timeout: FAILING },
        initial: 'waits',
        states: {
          waits: waits(protocol, 'PreCharge', [
            { guard: ({ event }) => isEmergency(event), target: FAILING },
            { guard: ({ event }) => isUntested(event) || isStop(event), target: 'mustStop' },
            { guard: ({ event }) => isWithdrawn(event), target: 'held' },
            { target: 'decides' },
          ]),
          decides: decides('may send PreChargeReq again or ask for power', {
            'choose.next': again,
            'sense.fault': faulty,
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
          // Asked to stop at once, or the isolation test counts no longer.
          mustStop: decides('must stop', stops(protocol)),
          // The charger has taken its consent back: no contactor closes on it.
          held: decides('may send PreChargeReq again; the charger is not ready', {
            'choose.next': again,
            'sense.fault': faulty,
            ...stops(protocol),
          }),
          faulty: waits(protocol, 'PreCharge', [{ target: FAILING }]),
        },
      },
    },
  };
}
