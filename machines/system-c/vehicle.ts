// The vehicle of System C (DIN SPEC 70121, ISO 15118-2), permissive: everything the standards allow it to do. It owns
// its contactors, the lock of its inlet and the pilot switch. What the standards leave open is `choose.*`; what its
// sensors say rides on the choice that depends on it.
import { createSideMachine, drive, send, type Chart, type Step } from '../../src/machine/chart.ts';
import type { SideMachine } from '../../src/machine/convention.ts';
import { vehicleAlphabet } from './alphabet.ts';
import type { SystemC } from './protocol.ts';
import {
  decides,
  ends,
  FAILING,
  loop,
  opensWhenLow,
  OVER,
  request,
  stops,
  waits,
} from './vehicle-pieces.ts';
import { cableCheck, preCharge } from './vehicle-approach.ts';
import { renegotiating, stopNow, transfer } from './vehicle-transfer.ts';

export function vehicleMachine(protocol: SystemC): SideMachine {
  return createSideMachine({
    id: 'vehicle',
    side: 'vehicle',
    protocol: protocol.name,
    delays: protocol.timing,
    alphabet: vehicleAlphabet(protocol),
    chart: {
      initial: 'setup',
      on: {
        'link.closed': OVER,
        'signal.crash': '#vehicle.crashed',
        // A contactor that did not open: told, and nothing more in this session.
        'signal.weld': { target: FAILING, actions: [tellsWeld] },
      },
      states: {
        setup: setup(protocol),
        preparing: preparing(protocol),
        transfer: transfer(protocol),
        ...(protocol.renegotiation ? { renegotiating: renegotiating(protocol) } : {}),
        stopNow: stopNow(protocol),
        ...shutdown(protocol),
        failing: failing(protocol),
        over: over(),
        crashed: crashed(),
      },
    },
  });
}

const tellsWeld = drive('alarm', 'fault');

/** The lock opens once the inlet is safe to touch. */
const unlocks: Chart['on'] & object = {
  'choose.unlock': {
    guard: ({ event }) => event.inlet === 'safe',
    target: 'unlocked',
    actions: [drive('lock', 'unlocked')],
  },
};
const unlocked: Chart = { description: 'has ended the session, unlocked' };

/** Handshake and SessionSetup, under the vehicle's communication setup timer. */
function setup(protocol: SystemC): Chart {
  return {
    tags: ['initialisation'],
    after: { V2G_EVCC_CommunicationSetup_Timeout: FAILING },
    initial: 'handshake',
    states: {
      handshake: {
        initial: 'decides',
        states: {
          decides: decides('may send supportedAppProtocolReq', {
            'choose.next': {
              target: 'waits',
              actions: [send({ message: 'supportedAppProtocolReq' })],
            },
          }),
          waits: waits(protocol, 'supportedAppProtocol', [{ target: '#vehicle.setup.session' }]),
        },
      },
      session: {
        initial: 'decides',
        states: {
          // A new session, or an old one joined again: either id is allowed.
          decides: decides('may send SessionSetupReq', {
            'choose.next': { target: 'waits', actions: [send({ message: 'SessionSetupReq' })] },
          }),
          waits: waits(protocol, 'SessionSetup', [{ target: '#vehicle.preparing' }]),
        },
      },
    },
  };
}

/** From SessionSetup to PowerDelivery start; DIN bounds it as a whole. */
function preparing(protocol: SystemC): Chart {
  return {
    ...(protocol.boundsReadyToCharge ? { after: { V2G_EVCC_ReadyToCharge_Timeout: FAILING } } : {}),
    initial: 'services',
    states: {
      services: services(protocol),
      selection: selection(protocol),
      ...(protocol.contract ? { contract: contract(protocol) } : {}),
      authorization: {
        tags: ['initialisation'],
        ...loop(protocol, {
          message: protocol.authorization,
          path: 'preparing.authorization',
          done: '#vehicle.preparing.parameters',
          also: ends(protocol),
          customer: protocol.boundsOngoing,
        }),
      },
      parameters: {
        tags: ['initialisation'],
        ...loop(protocol, {
          message: 'ChargeParameterDiscovery',
          path: 'preparing.parameters',
          done: '#vehicle.preparing.cableCheck',
          also: ends(protocol),
          customer: false,
          tells: true,
        }),
      },
      cableCheck: cableCheck(protocol),
      preCharge: preCharge(protocol),
      // Asked to stop at once, or the isolation test counts no longer.
      mustStop: { tags: ['pre-charge'], ...decides('must stop', stops(protocol)) },
    },
  };
}

function services(protocol: SystemC): Chart {
  return {
    tags: ['initialisation'],
    initial: 'decides',
    states: {
      decides: decides('may send ServiceDiscoveryReq', {
        'choose.next': { target: 'waits', actions: [request('ServiceDiscovery')] },
        ...ends(protocol),
      }),
      waits: waits(protocol, 'ServiceDiscovery', [{ target: '#vehicle.preparing.selection' }]),
    },
  };
}

/** Service details as often as it likes (ISO 15118-2), then the payment. */
function selection(protocol: SystemC): Chart {
  const select = (payment: string) => [request(protocol.selection, { payment })];
  const details = {
    'choose.details': { target: 'waitsForDetails', actions: [request('ServiceDetail')] },
  };
  return {
    tags: ['initialisation'],
    initial: 'decides',
    states: {
      decides: decides(`may send ${protocol.selection}Req`, {
        'choose.next': { target: 'waits', actions: select('external') },
        ...(protocol.contract
          ? { 'choose.contract': { target: 'waitsForContract', actions: select('contract') } }
          : {}),
        ...(protocol.details ? details : {}),
        ...ends(protocol),
      }),
      waits: waits(protocol, protocol.selection, [{ target: '#vehicle.preparing.authorization' }]),
      ...(protocol.contract
        ? {
            waitsForContract: waits(protocol, protocol.selection, [
              { target: '#vehicle.preparing.contract' },
            ]),
          }
        : {}),
      ...(protocol.details
        ? { waitsForDetails: waits(protocol, 'ServiceDetail', [{ target: 'decides' }]) }
        : {}),
    },
  };
}

function asks(message: string, target: string): Step {
  return { target, actions: [request(message)] };
}

/** Payment by contract: certificates if it needs them, then its details. */
function contract(protocol: SystemC): Chart {
  return {
    tags: ['initialisation'],
    initial: 'decides',
    states: {
      decides: decides('may send PaymentDetailsReq or ask for a certificate', {
        'choose.next': asks('PaymentDetails', 'waits'),
        'choose.install certificate': asks('CertificateInstallation', 'waitsForInstallation'),
        'choose.update certificate': asks('CertificateUpdate', 'waitsForUpdate'),
        ...ends(protocol),
      }),
      waits: waits(protocol, 'PaymentDetails', [{ target: '#vehicle.preparing.authorization' }]),
      waitsForInstallation: waits(protocol, 'CertificateInstallation', [{ target: 'decides' }]),
      waitsForUpdate: waits(protocol, 'CertificateUpdate', [{ target: 'decides' }]),
    },
  };
}

/** PowerDelivery stop, contactors, welding check as often as it likes, SessionStop. */
function shutdown(protocol: SystemC): Readonly<Record<string, Chart>> {
  const tags = ['shutdown'];
  const end = waits(protocol, 'SessionStop', []);
  return {
    stopping: { tags, ...waits(protocol, 'PowerDelivery', [{ target: '#vehicle.opening' }]) },
    opening: {
      tags,
      ...decides('opens its contactors', opensWhenLow('stopped')),
    },
    stopped: {
      tags,
      // C or D to B comes before WeldingDetectionReq and SessionStopReq (DIN SPEC 70121 7.2).
      entry: [drive('pilot', 'B')],
      initial: 'decides',
      states: {
        decides: decides('may send WeldingDetectionReq or SessionStopReq', {
          'choose.weld check': { target: 'waits', actions: [request('WeldingDetection')] },
          ...ends(protocol),
        }),
        waits: waits(protocol, 'WeldingDetection', [{ target: 'decides' }]),
      },
    },
    // Whatever the charger answers, the session is over.
    ending: {
      tags,
      description: end.description!,
      on: Object.fromEntries(Object.keys(end.on!).map((type) => [type, OVER])),
      after: Object.fromEntries(Object.keys(end.after!).map((name) => [name, OVER])),
    },
  };
}

/** After a FAILED answer or a timer: state B, and at most a stop or an end may still be said. */
function failing(protocol: SystemC): Chart {
  return {
    tags: ['shutdown'],
    entry: [drive('pilot', 'B')],
    initial: 'opening',
    on: stops(protocol),
    states: {
      opening: { description: 'gives up', on: opensWhenLow('open') },
      open: { description: 'gives up, contactors open' },
    },
  };
}

/** A crash isolates the pack at once, whatever the current and whatever the charger says (ISO 6469-4). */
function crashed(): Chart {
  return {
    tags: ['shutdown'],
    entry: [drive('contactors', 'open'), drive('pilot', 'B')],
    initial: 'open',
    on: { 'link.closed': {}, 'signal.crash': {}, 'signal.weld': { actions: [tellsWeld] } },
    states: { open: { description: 'has isolated the pack after a crash', on: unlocks }, unlocked },
  };
}

/** No more messages: contactors open, and the lock once the inlet is safe to touch. */
function over(): Chart {
  return {
    tags: ['shutdown'],
    entry: [drive('pilot', 'B')],
    initial: 'opening',
    on: { 'link.closed': {}, 'signal.weld': { actions: [tellsWeld] } },
    states: {
      opening: { description: 'has ended the session', on: opensWhenLow('open') },
      open: { description: 'has ended the session, contactors open', on: unlocks },
      unlocked,
    },
  };
}
