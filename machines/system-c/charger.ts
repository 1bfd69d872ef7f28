// The charger of System C (DIN SPEC 70121, ISO 15118-2), permissive: everything the standards allow it to do. It owns
// its output: off, test (cable check), precharge (at most 2 A) and on. What the standards leave open is `choose.*`.
import { createSideMachine, drive, type Chart, type Step } from '../../src/machine/chart.ts';
import type { SideMachine } from '../../src/machine/convention.ts';
import { chargerAlphabet } from './alphabet.ts';
import {
  answers,
  CLOSING,
  ends,
  exchange,
  expects,
  loop,
  ok,
  OVER,
  over,
  refuses,
  settled,
} from './charger-pieces.ts';
import { cableCheck, preCharge } from './charger-approach.ts';
import { isC, notifies, off } from './charger-consent.ts';
import { renegotiating } from './charger-renegotiation.ts';
import { transfer } from './charger-transfer.ts';
import type { SystemC } from './protocol.ts';

export function chargerMachine(protocol: SystemC): SideMachine {
  return createSideMachine({
    id: 'charger',
    side: 'charger',
    protocol: protocol.name,
    delays: protocol.timing,
    alphabet: chargerAlphabet(protocol),
    context: { owed: '' },
    chart: {
      initial: 'setup',
      on: {
        'link.closed': '#charger.gone',
        // C or D to B, unplugging, or a broken pilot: the output goes off at once, wherever the dialogue stands.
        'sense.pilot': { guard: ({ event }) => !isC(event), actions: [off] },
        'signal.emergency': { target: OVER, actions: [off, settled] },
      },
      states: {
        setup: setup(protocol),
        preparing: preparing(protocol),
        transfer: transfer(protocol),
        ...(protocol.renegotiation ? { renegotiating: renegotiating(protocol) } : {}),
        ...shutdown(protocol),
        refusesOrder: refuses(protocol, 'refuses a request out of order', 'sequence error'),
        refusesSession: refuses(protocol, 'refuses another session', 'unknown session'),
        over: over(protocol),
      },
    },
  });
}

function setup(protocol: SystemC): Chart {
  return {
    tags: ['initialisation'],
    after: { V2G_SECC_CommunicationSetup_Performance_Time: OVER },
    initial: 'handshake',
    states: {
      handshake: exchange(protocol, 'supportedAppProtocol', '#charger.setup.session'),
      session: exchange(protocol, 'SessionSetup', '#charger.preparing'),
    },
  };
}

const at = (state: string): string => `#charger.preparing.${state}`;

/** From SessionSetup to PowerDelivery start; DIN bounds it as a whole. */
function preparing(protocol: SystemC): Chart {
  const loops = (message: string, path: string, done: string, customer: boolean): Chart => ({
    tags: ['initialisation'],
    ...loop(protocol, {
      message,
      path: `preparing.${path}`,
      done: at(done),
      also: ends(protocol),
      customer,
    }),
  });
  return {
    ...(protocol.boundsReadyToCharge
      ? { after: { V2G_SECC_ReadyToCharge_Performance_Time: OVER } }
      : {}),
    initial: 'services',
    states: {
      services: {
        tags: ['initialisation'],
        ...exchange(protocol, 'ServiceDiscovery', at('selection'), ends(protocol)),
      },
      selection: selection(protocol),
      ...(protocol.contract ? { contract: contract(protocol) } : {}),
      authorization: loops(
        protocol.authorization,
        'authorization',
        'parameters',
        protocol.boundsOngoing,
      ),
      parameters: {
        tags: ['initialisation'],
        ...loop(protocol, {
          message: PARAMETERS,
          path: 'preparing.parameters',
          done: at('cableCheck'),
          also: ends(protocol),
          customer: false,
          settles: settlesParameters,
        }),
      },
      cableCheck: cableCheck(protocol),
      preCharge: preCharge(protocol),
    },
  };
}

const PARAMETERS = 'ChargeParameterDiscovery';

/** One that has told an isolation fault makes nothing live in this session: the cable check fails. */
function settlesParameters(processing: 'finished' | 'ongoing'): Step[] {
  const done = processing === 'finished' ? at('cableCheck') : at('parameters.ongoing.expects');
  const actions = [notifies(`${PARAMETERS}Res`, { processing })];
  return [
    {
      guard: ({ event }) => event.isolation === 'fault',
      target: at('cableCheck.overdue'),
      actions,
    },
    { target: done, actions },
  ];
}

function selection(protocol: SystemC): Chart {
  const { selection: message, details } = protocol;
  const grants = (target: string): Chart =>
    answers(protocol, message, { 'choose.answer': ok(message, target) });
  return {
    tags: ['initialisation'],
    initial: 'expects',
    states: {
      expects: expects(protocol, `expects ${message}Req`, {
        [`${message}Req`]: protocol.contract
          ? [
              {
                guard: ({ event }) => event.payment === 'contract',
                target: 'answersContract',
              },
              { target: 'answers' },
            ]
          : { target: 'answers' },
        ...(details ? { ServiceDetailReq: { target: 'answersDetail' } } : {}),
        ...ends(protocol),
      }),
      answers: grants('#charger.preparing.authorization'),
      ...(protocol.contract ? { answersContract: grants('#charger.preparing.contract') } : {}),
      ...(details
        ? {
            answersDetail: answers(protocol, 'ServiceDetail', {
              'choose.answer': ok('ServiceDetail', 'expects'),
            }),
          }
        : {}),
    },
  };
}

function contract(protocol: SystemC): Chart {
  const certificate = (message: string): Chart =>
    answers(protocol, message, { 'choose.answer': ok(message, 'expects') });
  return {
    tags: ['initialisation'],
    initial: 'expects',
    states: {
      expects: expects(protocol, 'expects PaymentDetailsReq or a certificate request', {
        PaymentDetailsReq: { target: 'answers' },
        CertificateInstallationReq: { target: 'answersInstallation' },
        CertificateUpdateReq: { target: 'answersUpdate' },
        ...ends(protocol),
      }),
      answers: answers(protocol, 'PaymentDetails', {
        'choose.answer': ok('PaymentDetails', '#charger.preparing.authorization'),
      }),
      answersInstallation: certificate('CertificateInstallation'),
      answersUpdate: certificate('CertificateUpdate'),
    },
  };
}

function shutdown(protocol: SystemC): Readonly<Record<string, Chart>> {
  const tags = ['shutdown'];
  // After PowerDelivery stop, B must be seen before these are answered OK (DIN SPEC 70121 7.2).
  const inStateB = (message: string, target: string): Chart =>
    answers(protocol, message, {
      'choose.answer': { guard: ({ event }) => event.pilot === 'B', ...ok(message, target) },
    });
  return {
    // The output goes off when the stop arrives, however long the answer takes.
    stopping: {
      tags,
      entry: [off],
      ...answers(protocol, 'PowerDelivery', {
        'choose.answer': ok('PowerDelivery', 'stopped'),
      }),
    },
    stopped: {
      tags,
      initial: 'expects',
      states: {
        expects: expects(protocol, 'expects WeldingDetectionReq or SessionStopReq', {
          WeldingDetectionReq: { target: 'answersWelding' },
          SessionStopReq: { target: 'answersEnd' },
        }),
        answersWelding: inStateB('WeldingDetection', 'expects'),
        answersEnd: inStateB('SessionStop', CLOSING),
      },
    },
    ending: {
      tags,
      entry: [off],
      ...answers(protocol, 'SessionStop', { 'choose.answer': ok('SessionStop', CLOSING) }),
    },
    closing: {
      tags,
      on: { 'signal.emergency': {} },
      entry: [off],
      initial: 'retains',
      states: {
        retains: {
          description: 'has ended the session, pilot still on',
          after: {
            V2G_SECC_CPOscillator_Retain_Time: {
              target: 'waits',
              actions: [drive('pilot', 'X1')],
            },
          },
        },
        waits: {
          description: 'waits for the vehicle to close the connection',
          after: { V2G_SECC_TCP_Close_Wait: '#charger.gone' },
        },
      },
    },
    gone: {
      tags,
      entry: [off],
      on: { 'signal.emergency': {} },
      description: 'has ended the session, connection closed',
    },
  };
}
