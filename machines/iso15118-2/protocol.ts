import { timing } from '../../src/protocols/iso15118-2/timing.ts';
import type { SystemC } from '../system-c/protocol.ts';

export const iso15118_2: SystemC = Object.freeze({
  name: 'iso15118-2',
  selection: 'PaymentServiceSelection',
  authorization: 'Authorization',
  details: true,
  contract: true,
  renegotiation: true,
  pause: true,
  boundsOngoing: true,
  boundsReadyToCharge: false,
  timing,
});
