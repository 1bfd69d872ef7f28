// The beginning of a session as each side's machine sees it, up to a stage. Names as in DIN SPEC 70121 9.7 and
// ISO 15118-2 8.8 (from memory).
type Protocol = 'din70121' | 'iso15118-2';

const ok = 'code=ok, session=this';
const well = 'status=ready, isolation=valid, notification=none';

const names = {
  din70121: ['ServicePaymentSelection', 'ContractAuthentication'],
  'iso15118-2': ['PaymentServiceSelection', 'Authorization'],
} as const;

const stages = [
  'handshake',
  'session',
  'services',
  'selection',
  'authorization',
  'parameters',
  'cable check',
  'tested',
  'pre-charge',
  'power asked',
  'transfer',
  'stopped',
] as const;

export type Stage = (typeof stages)[number];

/** Events of a vehicle from the start until it is in `stage`. */
export function vehicleUntil(stage: Stage, protocol: Protocol): string[] {
  const [selection, authorization] = names[protocol];
  const parts: [Stage, string[]][] = [
    ['handshake', []],
    ['session', ['choose.next', 'supportedAppProtocolRes code=ok']],
    ['services', ['choose.next', `SessionSetupRes ${ok}`]],
    ['selection', ['choose.next', `ServiceDiscoveryRes ${ok}`]],
    ['authorization', ['choose.next', `${selection}Res ${ok}`]],
    ['parameters', ['choose.next', `${authorization}Res ${ok}, processing=finished`]],
    ['cable check', ['choose.next', `ChargeParameterDiscoveryRes ${ok}, processing=finished`]],
    ['tested', ['choose.next locked=yes', `CableCheckRes ${ok}, processing=finished, ${well}`]],
    ['pre-charge', ['choose.next', `PreChargeRes ${ok}, ${well}`]],
    ['power asked', ['choose.power gate=inside']],
    ['transfer', [`PowerDeliveryRes ${ok}, ${well}`]],
    ['stopped', ['choose.stop', `PowerDeliveryRes ${ok}, ${well}`, 'choose.open current=none']],
  ];
  return collect(parts, stage);
}

/** Events of a charger from the start until it is in `stage`. */
export function chargerUntil(stage: Stage, protocol: Protocol): string[] {
  const [selection, authorization] = names[protocol];
  const asks = 'session=this, ready=yes, error=none';
  const answer = 'choose.answer pilot=C, isolation=valid, status=ready';
  const parts: [Stage, string[]][] = [
    ['handshake', []],
    ['session', ['supportedAppProtocolReq', 'choose.answer']],
    ['services', ['SessionSetupReq session=new', 'choose.answer']],
    ['selection', ['ServiceDiscoveryReq session=this', 'choose.answer']],
    ['authorization', [`${selection}Req session=this, payment=external`, 'choose.answer']],
    ['parameters', [`${authorization}Req session=this`, 'choose.answer']],
    ['cable check', [`ChargeParameterDiscoveryReq ${asks}`, 'choose.answer']],
    [
      'tested',
      [`CableCheckReq ${asks}`, 'sense.pilot pilot=C', 'choose.finish test isolation=valid'],
    ],
    ['pre-charge', [`PreChargeReq ${asks}`, answer]],
    ['power asked', [`PowerDeliveryReq ${asks}, progress=start`]],
    ['transfer', [answer]],
    ['stopped', [`PowerDeliveryReq ${asks}, progress=stop`, answer]],
  ];
  return collect(parts, stage);
}

function collect(parts: readonly [Stage, string[]][], stage: Stage): string[] {
  const until = parts.findIndex(([name]) => name === stage);
  return parts.slice(0, until + 1).flatMap(([, lines]) => lines);
}
