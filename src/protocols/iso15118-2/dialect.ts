import { actsOf, type Dialect } from '../system-c/dialect.ts';

/** ISO 15118-2:2014: ChargeProgress Start, Stop or Renegotiate; a passed isolation test is `Valid`. */
export const iso15118_2: Dialect = {
  protocol: 'iso15118-2',
  title: 'ISO 15118-2',
  acts: actsOf({
    PaymentServiceSelection: 'setup',
    PaymentDetails: 'setup',
    CertificateInstallation: 'setup',
    CertificateUpdate: 'setup',
    Authorization: 'setup',
  }),
  powerDelivery: ({ ChargeProgress: progress }) =>
    progress === 'Start'
      ? 'power'
      : progress === 'Stop'
        ? 'stop'
        : progress === 'Renegotiate'
          ? 'renegotiate'
          : undefined,
  isolationGood: 'Valid',
};
