// Pieces of the shuttle: its answers and their facts, and the two states every request is made of.
import { send, type Chart, type MachineEvent, type Output, type Step } from 'handfast';

const values = {
  code: ['ok', 'failed', 'sequence error', 'unknown session', 'unknown'],
  session: ['this', 'foreign', 'unknown'],
  processing: ['finished', 'ongoing', 'waiting for customer', 'unknown'],
  isolation: ['valid', 'warning', 'fault', 'invalid', 'no monitor', 'unknown'],
  status: [
    'ready',
    'not ready',
    'monitoring',
    'shutdown',
    'emergency',
    'malfunction',
    'other',
    'unknown',
  ],
  notification: ['none', 'stop now', 'stop later', 'renegotiate', 'unknown'],
};
const plain = { code: values.code, session: values.session };
const { processing: _processing, ...charger } = values;

/** What the charger may answer, with the facts the shuttle looks at. */
export const answers = {
  supportedAppProtocolRes: { code: values.code },
  SessionSetupRes: plain,
  ServiceDiscoveryRes: plain,
  ServicePaymentSelectionRes: plain,
  ContractAuthenticationRes: { ...plain, processing: values.processing },
  ChargeParameterDiscoveryRes: values,
  CableCheckRes: values,
  PreChargeRes: charger,
  PowerDeliveryRes: charger,
  CurrentDemandRes: charger,
  WeldingDetectionRes: plain,
  SessionStopRes: plain,
};

export const OVER = '#shuttle.over';
export const STOPS = '#shuttle.stops';

const isOk = (event: MachineEvent): boolean => event.code === 'ok' && event.session !== 'foreign';

/** Stop at once, whatever else the answer says. */
export const isAlarm = ({ status, isolation }: MachineEvent): boolean =>
  status === 'emergency' || status === 'malfunction' || isolation === 'fault';

/** The charger stands by its consent, and the isolation test counts. */
export const isWell = ({ status, isolation, notification }: MachineEvent): boolean =>
  status === 'ready' &&
  (isolation === 'valid' || isolation === 'warning') &&
  notification !== 'stop now';

export const isOngoing = ({ processing }: MachineEvent): boolean => processing !== 'finished';

/** A request; the first two belong to no session yet. */
export function request(message: string, facts: Record<string, string> = {}): Output {
  const first = message === 'supportedAppProtocol' || message === 'SessionSetup';
  return send({ message: `${message}Req`, ...(first ? {} : { session: 'this' }), ...facts });
}

/** One request in flight; any other answer than the ones given ends the session. */
export function waits(message: string, timeout: string, steps: readonly Step[]): Chart {
  const on = Object.fromEntries(
    Object.keys(answers).map((name): [string, Step[]] => [name, [{ target: OVER }]]),
  );
  on[`${message}Res`] = [
    { guard: ({ event }) => !isOk(event), target: OVER },
    ...steps,
    { target: OVER },
  ];
  return { description: `waits for ${message}Res`, on, after: { [timeout]: OVER } };
}

/** Sends the request, then waits; `steps` say what follows a positive answer. */
export function asks(message: string, stage: string, steps: readonly Step[]): Chart {
  return asksWith({ target: 'waits', actions: [request(message)] }, message, stage, steps);
}

/** The same with a request of one's own. */
export function asksWith(
  sends: Step,
  message: string,
  stage: string,
  steps: readonly Step[],
): Chart {
  return {
    tags: [stage],
    initial: 'asks',
    states: {
      asks: {
        description: `sends ${message}Req`,
        on: { 'choose.next': sends },
        after: { next_request: OVER },
      },
      waits: waits(message, 'answer', steps),
    },
  };
}

/** The same request again while the charger is not finished. */
export function asksUntilFinished(message: string, next: string): Chart {
  return asks(message, 'initialisation', [
    { guard: ({ event }) => isAlarm(event), target: OVER },
    { guard: ({ event }) => isOngoing(event), target: 'asks' },
    { target: next },
  ]);
}
