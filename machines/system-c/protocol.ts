// The difference between DIN SPEC 70121 and ISO 15118-2 as the machines see it: names, optional steps and timers.
import type { Timing } from '../../src/protocols/system-c/timing.ts';

export interface SystemC {
  readonly name: 'din70121' | 'iso15118-2';
  /** The message that selects services and payment, by its name without Req. */
  readonly selection: 'ServicePaymentSelection' | 'PaymentServiceSelection';
  readonly authorization: 'ContractAuthentication' | 'Authorization';
  /** ServiceDetail, payment by contract with its certificates, and metering receipts. */
  readonly details: boolean;
  readonly contract: boolean;
  /** PowerDelivery with Renegotiate, and SessionStop with Pause. */
  readonly renegotiation: boolean;
  readonly pause: boolean;
  /** A bound on the loops of Authorization and ChargeParameterDiscovery. */
  readonly boundsOngoing: boolean;
  /** A bound from SessionSetup to PowerDelivery start. */
  readonly boundsReadyToCharge: boolean;
  readonly timing: Timing;
}

/** Every message of the protocol, by its name without Req or Res, in the order of a session. */
export function messagesOf(protocol: SystemC): string[] {
  return [
    'supportedAppProtocol',
    'SessionSetup',
    'ServiceDiscovery',
    ...(protocol.details ? ['ServiceDetail'] : []),
    protocol.selection,
    ...(protocol.contract
      ? ['PaymentDetails', 'CertificateInstallation', 'CertificateUpdate']
      : []),
    protocol.authorization,
    'ChargeParameterDiscovery',
    'CableCheck',
    'PreCharge',
    'PowerDelivery',
    'CurrentDemand',
    ...(protocol.contract ? ['MeteringReceipt'] : []),
    'WeldingDetection',
    'SessionStop',
  ];
}
