// Bodies of the vehicle's requests, complete enough to be encoded, from the standards' own words.
import type { JsonObject } from '../../trace/observation.ts';
import {
  evStatus,
  physical,
  type SideLimits,
  type SystemCProtocol,
  type VehicleStatus,
} from './body-parts.ts';

export interface RequestWords {
  vehicle: VehicleStatus;
  limits: SideLimits;
  targetVoltage_V: number;
  targetCurrent_A: number;
  complete: boolean;
  progress: 'Start' | 'Stop' | 'Renegotiate';
  payment: 'ExternalPayment' | 'Contract';
  ending: 'Terminate' | 'Pause';
  /** Hexadecimal: up to 6 bytes (ISO 15118-2), up to 8 (DIN SPEC 70121). */
  vehicleId: string;
  sessionId: string;
  meter_Wh: number;
}

type Body = (words: RequestWords, protocol: SystemCProtocol) => JsonObject;

/** Contracts are told, not verified: these bytes, base64, stand where a certificate would. */
export const CERTIFICATE = 'U2FsdG1hcnNo';
export const CONTRACT_ID = 'ZZSMFC00000001';

/** The one energy transfer mode handfast speaks: d.c. on the combined connector. */
export const TRANSFER_MODE = 'DC_extended';

const nothing: Body = () => ({});
const targets = ({ targetVoltage_V, targetCurrent_A }: RequestWords): JsonObject => ({
  EVTargetVoltage: physical(targetVoltage_V, 'V'),
  EVTargetCurrent: physical(targetCurrent_A, 'A'),
});
const rootCertificates: JsonObject = {
  RootCertificateID: [{ X509IssuerName: 'CN=Saltmarsh', X509SerialNumber: '1' }],
};
const status = (words: RequestWords): JsonObject => ({ DC_EVStatus: evStatus(words.vehicle) });

const namespaces = {
  din70121: 'urn:din:70121:2012:MsgDef',
  'iso15118-2': 'urn:iso:15118:2:2013:MsgDef',
} as const;

const bodies: Readonly<Record<string, Body>> = {
  supportedAppProtocol: (_, protocol) => ({
    AppProtocol: [
      {
        ProtocolNamespace: namespaces[protocol],
        VersionNumberMajor: 2,
        VersionNumberMinor: 0,
        SchemaID: 1,
        Priority: 1,
      },
    ],
  }),
  SessionSetup: ({ vehicleId }) => ({ EVCCID: vehicleId }),
  ServiceDiscovery: nothing,
  ServiceDetail: () => ({ ServiceID: 1 }),
  ServicePaymentSelection: selection,
  PaymentServiceSelection: selection,
  PaymentDetails: () => ({
    eMAID: CONTRACT_ID,
    ContractSignatureCertChain: { Certificate: CERTIFICATE },
  }),
  CertificateInstallation: () => ({
    '@Id': 'request',
    OEMProvisioningCert: CERTIFICATE,
    ListOfRootCertificateIDs: rootCertificates,
  }),
  CertificateUpdate: () => ({
    '@Id': 'request',
    ContractSignatureCertChain: { Certificate: CERTIFICATE },
    eMAID: CONTRACT_ID,
    ListOfRootCertificateIDs: rootCertificates,
  }),
  ContractAuthentication: nothing,
  Authorization: nothing,
  ChargeParameterDiscovery: parameters,
  CableCheck: status,
  PreCharge: (words) => ({ ...status(words), ...targets(words) }),
  PowerDelivery: ({ vehicle, progress, complete }, protocol) => ({
    ...(protocol === 'din70121'
      ? { ReadyToChargeState: progress === 'Start' }
      : { ChargeProgress: progress, SAScheduleTupleID: 1 }),
    DC_EVPowerDeliveryParameter: { DC_EVStatus: evStatus(vehicle), ChargingComplete: complete },
  }),
  CurrentDemand: (words) => ({
    ...status(words),
    ...targets(words),
    ChargingComplete: words.complete,
  }),
  MeteringReceipt: ({ sessionId, meter_Wh }) => ({
    SessionID: sessionId,
    SAScheduleTupleID: 1,
    MeterInfo: meterInfo(meter_Wh),
  }),
  WeldingDetection: status,
  SessionStop: ({ ending }, protocol) =>
    protocol === 'din70121' ? {} : { ChargingSession: ending },
};

/** The body of a request, by its message name without `Req`; undefined for one no composed session has. */
export function requestBody(
  protocol: SystemCProtocol,
  message: string,
  words: RequestWords,
): JsonObject | undefined {
  return Object.hasOwn(bodies, message) ? bodies[message]!(words, protocol) : undefined;
}

export function meterInfo(reading_Wh: number): JsonObject {
  return { MeterID: 'SMFT-METER-1', MeterReading: String(Math.max(0, Math.round(reading_Wh))) };
}

function selection({ payment }: RequestWords): JsonObject {
  return {
    SelectedPaymentOption: payment,
    SelectedServiceList: { SelectedService: [{ ServiceID: 1 }] },
  };
}

function parameters({ vehicle, limits }: RequestWords, protocol: SystemCProtocol): JsonObject {
  const mode =
    protocol === 'din70121' ? 'EVRequestedEnergyTransferType' : 'RequestedEnergyTransferMode';
  const { current_A, voltage_V, power_W } = limits;
  return {
    [mode]: TRANSFER_MODE,
    DC_EVChargeParameter: {
      DC_EVStatus: evStatus(vehicle),
      EVMaximumCurrentLimit: physical(current_A, 'A'),
      ...(power_W === undefined ? {} : { EVMaximumPowerLimit: physical(power_W, 'W') }),
      EVMaximumVoltageLimit: physical(voltage_V, 'V'),
    },
  };
}
