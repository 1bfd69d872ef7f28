// Whole sessions as a recorder would see them: `0.250 charger PreChargeRes code=ok …`, times in seconds. Order and
// usual facts as in DIN SPEC 70121 9.7 and ISO 15118-2 8.8 (from memory).
import type { MachineEvent } from '../../src/machine/convention.ts';
import type { Side } from '../../src/trace/observation.ts';

export interface Line {
  at_s: number;
  from: Side;
  event: MachineEvent;
}

const ok = 'session=this code=ok';
const ready = 'status=ready isolation=valid notification=none';
const well = 'session=this ready=yes error=none';

export const answers = {
  cableCheckOngoing: `CableCheckRes ${ok} processing=ongoing status=monitoring isolation=invalid notification=none`,
  cableCheckDone: `CableCheckRes ${ok} processing=finished ${ready}`,
  preCharge: `PreChargeRes ${ok} ${ready}`,
  power: `PowerDeliveryRes ${ok} ${ready}`,
  demand: `CurrentDemandRes ${ok} ${ready} receipt=no`,
  welding: `WeldingDetectionRes ${ok} ${ready}`,
  end: `SessionStopRes ${ok}`,
} as const;

export const requests = {
  cableCheck: `CableCheckReq ${well}`,
  preCharge: `PreChargeReq ${well}`,
  start: `PowerDeliveryReq ${well} progress=start`,
  stop: `PowerDeliveryReq ${well} progress=stop`,
  demand: `CurrentDemandReq ${well} demand=some complete=no`,
  welding: `WeldingDetectionReq ${well}`,
  end: 'SessionStopReq session=this ending=terminate',
} as const;

/** Messages from the handshake to the end of ChargeParameterDiscovery. */
export const beginning: readonly string[] = [
  'supportedAppProtocolReq',
  'supportedAppProtocolRes code=ok',
  'SessionSetupReq session=new',
  `SessionSetupRes ${ok}`,
  'ServiceDiscoveryReq session=this',
  `ServiceDiscoveryRes ${ok}`,
  'PaymentServiceSelectionReq session=this payment=external',
  `PaymentServiceSelectionRes ${ok}`,
  'AuthorizationReq session=this',
  `AuthorizationRes ${ok} processing=ongoing`,
  'AuthorizationReq session=this',
  `AuthorizationRes ${ok} processing=finished`,
  `ChargeParameterDiscoveryReq ${well}`,
  `ChargeParameterDiscoveryRes ${ok} processing=finished status=not ready isolation=invalid notification=none`,
];

export const approach: readonly string[] = [
  requests.cableCheck,
  answers.cableCheckOngoing,
  requests.cableCheck,
  answers.cableCheckDone,
  requests.preCharge,
  answers.preCharge,
  requests.preCharge,
  answers.preCharge,
];

export const transfer: readonly string[] = [
  requests.start,
  answers.power,
  requests.demand,
  answers.demand,
  requests.demand,
  answers.demand,
];

export const ending: readonly string[] = [
  requests.stop,
  answers.power,
  requests.welding,
  answers.welding,
  requests.welding,
  answers.welding,
  requests.end,
  answers.end,
];

/**
 * Gives each message a time: an answer 0.02 s after its request, a request 0.1 s after the answer. `wait 3.5` among
 * the lines lets more time pass.
 */
export function timed(lines: readonly string[]): Line[] {
  const all: Line[] = [];
  let at_s = 0;
  for (const line of lines) {
    const wait = /^wait (.+)$/.exec(line);
    if (wait) {
      at_s += Number(wait[1]);
      continue;
    }
    const event = read(line);
    const from: Side = event.type.endsWith('Req') ? 'vehicle' : 'charger';
    at_s += from === 'vehicle' ? 0.1 : 0.02;
    all.push({ at_s, from, event });
  }
  return all;
}

function read(line: string): MachineEvent {
  const [type, ...facts] = line.split(/ (?=[a-z]+=)/);
  const entries = facts.map((fact) => fact.split('=') as [string, string]);
  return Object.freeze({ type: type!, ...Object.fromEntries(entries) });
}
