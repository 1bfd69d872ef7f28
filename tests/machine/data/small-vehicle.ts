// A vehicle of one's own, cut down to what an example needs: handshake to power and back, without retries, services or
// payment. It gives up on any answer it does not expect, and on none in time.
import {
  createSideMachine,
  drive,
  send,
  type Chart,
  type Output,
  type Steps,
} from 'handfast';

const code = ['ok', 'failed', 'unknown'];
const processing = ['finished', 'ongoing', 'unknown'];
const isolation = ['valid', 'warning', 'fault', 'invalid', 'no monitor', 'unknown'];

/** Sends a request, then waits for the answer. */
function asks(message: string, outputs: readonly Output[], on: Steps): Chart {
  return {
    initial: 'decides',
    states: {
      decides: {
        description: `may send ${message}Req`,
        on: { 'choose.next': { target: 'waits', actions: [...outputs, send({ message: `${message}Req` })] } },
      },
      waits: {
        description: `waits for ${message}Res`,
        on: { [`${message}Res`]: on },
        after: { answer: '#small.over' },
      },
    },
  };
}

/** Goes on after OK, else ends. */
const ok = (target: string): Steps => [
  { guard: ({ event }) => event.code === 'ok', target },
  { target: '#small.over' },
];

export const vehicle = createSideMachine({
  id: 'small',
  side: 'vehicle',
  protocol: 'din70121',
  delays: { answer: { ms: 2000, confidence: 'from memory', source: 'DIN SPEC 70121 9.6' } },
  alphabet: {
    'choose.next': {},
    'choose.power': { gate: ['inside', 'outside'] },
    supportedAppProtocolRes: { code },
    CableCheckRes: { code, processing, isolation },
    PreChargeRes: { code },
    PowerDeliveryRes: { code },
    CurrentDemandRes: { code },
    'link.closed': {},
  },
  chart: {
    initial: 'handshake',
    on: { 'link.closed': '#small.over' },
    states: {
      handshake: { tags: ['initialisation'], ...asks('supportedAppProtocol', [], ok('#small.cableCheck')) },
      cableCheck: {
        tags: ['cable check'],
        ...asks('CableCheck', [drive('lock', 'locked'), drive('pilot', 'C')], [
          { guard: ({ event }) => event.code !== 'ok', target: '#small.over' },
          { guard: ({ event }) => event.processing === 'ongoing', target: 'decides' },
          {
            guard: ({ event }) => event.isolation === 'valid' || event.isolation === 'warning',
            target: '#small.preCharge',
          },
          { target: '#small.over' },
        ]),
      },
      preCharge: { tags: ['pre-charge'], ...asks('PreCharge', [], ok('#small.closes')) },
      closes: {
        tags: ['pre-charge'],
        description: 'may ask for power',
        on: {
          'choose.power': {
            guard: ({ event }) => event.gate === 'inside',
            target: 'starts',
            actions: [drive('contactors', 'closed'), send({ message: 'PowerDeliveryReq', progress: 'start' })],
          },
        },
      },
      starts: {
        tags: ['energy transfer'],
        on: { PowerDeliveryRes: ok('transfer') },
        after: { answer: 'over' },
      },
      transfer: { tags: ['energy transfer'], ...asks('CurrentDemand', [], ok('#small.transfer')) },
      over: {
        tags: ['shutdown'],
        description: 'has ended the session',
        entry: [drive('pilot', 'B'), drive('contactors', 'open')],
      },
    },
  },
});
