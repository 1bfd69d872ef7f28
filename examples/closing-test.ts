// A vehicle of one's own, for DIN SPEC 70121: a closing test. It has its isolation tested and the output matched to its
// battery, closes its contactor on that, opens it again and leaves, without ever asking for current.
import {
  createSideMachine,
  drive,
  send,
  type Chart,
  type Output,
  type SideMachine,
  type Steps,
} from 'handfast';

const code = ['ok', 'failed', 'unknown'];
const processing = ['finished', 'ongoing', 'unknown'];
const isolation = ['valid', 'warning', 'fault', 'invalid', 'no monitor', 'unknown'];

/** What it says in its requests: it is ready, and nothing is wrong. */
const WELL = { session: 'this', ready: 'yes', error: 'none' };
const SESSION = { session: 'this' };
const LEAVES = { target: '#closing.leaves' };

/** Sends a request when it likes, then waits for its answer, for 2 s at most. */
function asks(
  message: string,
  facts: Readonly<Record<string, string>>,
  answers: Steps,
  before: readonly Output[] = [],
): Chart {
  const request = send({ message: `${message}Req`, ...facts });
  return {
    initial: 'decides',
    states: {
      decides: {
        description: `may send ${message}Req`,
        on: { 'choose.next': { target: 'waits', actions: [...before, request] } },
      },
      waits: {
        description: `waits for ${message}Res`,
        on: { [`${message}Res`]: answers },
        after: { answer: LEAVES },
      },
    },
  };
}

/** Goes on after OK; leaves after anything else. */
const then = (target: string): Steps => [
  { guard: ({ event }) => event.code === 'ok', target: `#closing.${target}` },
  LEAVES,
];

/** Asks again while the charger is not finished. */
const finished = (target: string): Steps => [
  { guard: ({ event }) => event.code !== 'ok', ...LEAVES },
  { guard: ({ event }) => event.processing === 'ongoing', target: 'decides' },
  { guard: ({ event }) => event.processing === 'finished', target: `#closing.${target}` },
  LEAVES,
];

const tested: Steps = [
  { guard: ({ event }) => event.code !== 'ok', ...LEAVES },
  { guard: ({ event }) => event.processing === 'ongoing', target: 'decides' },
  {
    guard: ({ event }) => event.processing === 'finished' && event.isolation === 'valid',
    target: '#closing.preCharge',
  },
  LEAVES,
];

/** `closes` is what it does in the state in which it may close its contactor. */
export function closingTest(closes: Steps): SideMachine {
  return createSideMachine({
    id: 'closing',
    side: 'vehicle',
    protocol: 'din70121',
    delays: { answer: { ms: 2000, confidence: 'from memory', source: 'DIN SPEC 70121, 9.6' } },
    alphabet: {
      'choose.next': {},
      'choose.close': { gate: ['inside', 'outside'] },
      'choose.unlock': { inlet: ['safe', 'live'] },
      supportedAppProtocolRes: { code },
      SessionSetupRes: { code },
      ServiceDiscoveryRes: { code },
      ServicePaymentSelectionRes: { code },
      ContractAuthenticationRes: { code, processing },
      ChargeParameterDiscoveryRes: { code, processing },
      CableCheckRes: { code, processing, isolation },
      PreChargeRes: { code, isolation },
      PowerDeliveryRes: { code },
      'link.closed': {},
    },
    chart: { initial: 'handshake', on: { 'link.closed': LEAVES }, states: states(closes) },
  });
}

const states = (closes: Steps): Record<string, Chart> => ({
  handshake: asks('supportedAppProtocol', {}, then('session')),
  session: asks('SessionSetup', { session: 'new' }, then('services')),
  services: asks('ServiceDiscovery', SESSION, then('payment')),
  payment: asks(
    'ServicePaymentSelection',
    { ...SESSION, payment: 'external' },
    then('authorisation'),
  ),
  authorisation: asks('ContractAuthentication', SESSION, finished('parameters')),
  parameters: asks('ChargeParameterDiscovery', WELL, finished('cableCheck')),
  cableCheck: asks('CableCheck', WELL, tested, [drive('lock', 'locked'), drive('pilot', 'C')]),
  preCharge: asks('PreCharge', WELL, [
    {
      guard: ({ event }) => event.code === 'ok' && event.isolation === 'valid',
      target: '#closing.closes',
    },
    LEAVES,
  ]),
  closes: {
    tags: ['pre-charge'],
    description: 'may close its contactor',
    on: { 'choose.close': closes },
  },
  closed: {
    tags: ['energy transfer'],
    description: 'has closed its contactor and waits for PowerDeliveryRes',
    on: { PowerDeliveryRes: LEAVES },
    after: { answer: LEAVES },
  },
  leaves: {
    tags: ['shutdown'],
    description: 'has opened its contactor; unlocks once the inlet is safe',
    entry: [drive('contactors', 'open'), drive('pilot', 'B')],
    on: {
      'choose.unlock': {
        guard: ({ event }) => event.inlet === 'safe',
        target: 'gone',
        actions: [drive('lock', 'unlocked')],
      },
    },
  },
  gone: { tags: ['shutdown'], description: 'is unplugged' },
});

const START = { message: 'PowerDeliveryReq', ...WELL, progress: 'start' };

export const vehicle = closingTest({
  guard: ({ event }) => event.gate === 'inside',
  target: 'closed',
  actions: [drive('contactors', 'closed'), send(START)],
});
