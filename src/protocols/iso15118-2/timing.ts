// ISO 15118-2:2014 clause 8.7 and Table 109, where it differs from DIN SPEC 70121.
import { duration, messageTimes, sharedTiming, type Timing } from '../system-c/timing.ts';

export const timing: Timing = Object.freeze({
  ...sharedTiming,
  ...messageTimes(
    {
      PaymentServiceSelection: [2, 1.5],
      Authorization: [2, 1.5],
      ServiceDetail: [5, 4.5],
      PaymentDetails: [5, 4.5],
      CertificateInstallation: [5, 4.5],
      CertificateUpdate: [5, 4.5],
      PowerDelivery: [5, 4.5],
      MeteringReceipt: [2, 1.5],
    },
    'from memory',
  ),
  V2G_EVCC_Ongoing_Timeout: duration(60, 'from memory', 'ISO 15118-2 8.7'),
  V2G_SECC_Ongoing_Performance_Time: duration(55, 'from memory', 'ISO 15118-2 8.7'),
});
