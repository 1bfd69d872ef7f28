import { timing } from '../../src/protocols/din70121/timing.ts';
import type { SystemC } from '../system-c/protocol.ts';

export const din70121: SystemC = Object.freeze({
  name: 'din70121',
  selection: 'ServicePaymentSelection',
  authorization: 'ContractAuthentication',
  details: false,
  contract: false,
  renegotiation: false,
  pause: false,
  boundsOngoing: false,
  boundsReadyToCharge: true,
  timing,
});
