// DIN SPEC 70121:2014 clause 9.6, where it differs from ISO 15118-2.
import { duration, messageTimes, sharedTiming, type Timing } from '../system-c/timing.ts';

export const timing: Timing = Object.freeze({
  ...sharedTiming,
  ...messageTimes(
    { ServicePaymentSelection: [2, 1.5], ContractAuthentication: [2, 1.5] },
    'from memory',
  ),
  // One reading of DIN says 2 s and 1.5 s; the longer one cannot accuse wrongly.
  ...messageTimes({ PowerDelivery: [5, 4.5] }, 'from memory, low'),
  V2G_EVCC_ReadyToCharge_Timeout: duration(150, 'from memory', 'DIN SPEC 70121 9.6'),
  V2G_SECC_ReadyToCharge_Performance_Time: duration(148, 'from memory', 'DIN SPEC 70121 9.6'),
});
