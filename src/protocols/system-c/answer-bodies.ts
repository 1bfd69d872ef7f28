// Bodies of the charger's answers, complete enough to be encoded, from the standards' own words.
import type { JsonObject } from '../../trace/observation.ts';
import {
  evseStatus,
  physical,
  type ChargerStatus,
  type SideLimits,
  type SystemCProtocol,
} from './body-parts.ts';
import { CERTIFICATE, CONTRACT_ID, meterInfo, TRANSFER_MODE } from './request-bodies.ts';

export interface AnswerWords {
  code: string;
  charger: ChargerStatus;
  processing: 'Finished' | 'Ongoing' | 'Ongoing_WaitingForCustomerInteraction';
  limits: SideLimits;
  /** The least the charger can hold, and its ripple. */
  minimum: { voltage_V: number; current_A: number };
  ripple_A: number;
  presentVoltage_V: number;
  presentCurrent_A: number;
  /** Which limit of its own the charger is at. */
  reached: { voltage: boolean; current: boolean; power: boolean };
  receipt: boolean;
  /** 7 to 37 characters (ISO 15118-2); hexadecimal bytes, or 00 for none (DIN SPEC 70121). */
  chargerId: string;
  meter_Wh: number;
}

type Body = (words: AnswerWords, protocol: SystemCProtocol) => JsonObject;

const nothing: Body = () => ({});
const status: Body = ({ charger }, protocol) => ({ DC_EVSEStatus: evseStatus(protocol, charger) });
const present: Body = (words, protocol) => ({
  ...status(words, protocol),
  EVSEPresentVoltage: physical(words.presentVoltage_V, 'V'),
});
const processing: Body = (words) => ({ EVSEProcessing: words.processing });
const certificates: Body = () => ({
  SAProvisioningCertificateChain: { Certificate: CERTIFICATE },
  ContractSignatureCertChain: { '@Id': 'chain', Certificate: CERTIFICATE },
  ContractSignatureEncryptedPrivateKey: { '@Id': 'key', $: CERTIFICATE },
  DHpublickey: { '@Id': 'public', $: CERTIFICATE },
  eMAID: { '@Id': 'contract', $: CONTRACT_ID },
});

const bodies: Readonly<Record<string, Body>> = {
  supportedAppProtocol: () => ({ SchemaID: 1 }),
  SessionSetup: ({ chargerId }) => ({ EVSEID: chargerId }),
  ServiceDiscovery: services,
  ServiceDetail: () => ({ ServiceID: 1 }),
  ServicePaymentSelection: nothing,
  PaymentServiceSelection: nothing,
  PaymentDetails: () => ({ GenChallenge: CERTIFICATE, EVSETimeStamp: '0' }),
  CertificateInstallation: certificates,
  CertificateUpdate: certificates,
  ContractAuthentication: processing,
  Authorization: processing,
  ChargeParameterDiscovery: parameters,
  CableCheck: (words, protocol) => ({
    ...status(words, protocol),
    ...processing(words, protocol),
  }),
  PreCharge: present,
  PowerDelivery: status,
  CurrentDemand: demand,
  MeteringReceipt: status,
  WeldingDetection: present,
  SessionStop: nothing,
};

/** The body of an answer, by its message name without `Res`; undefined for one no composed session has. */
export function answerBody(
  protocol: SystemCProtocol,
  message: string,
  words: AnswerWords,
): JsonObject | undefined {
  if (!Object.hasOwn(bodies, message)) return undefined;
  return { ResponseCode: words.code, ...bodies[message]!(words, protocol) };
}

function services(_: AnswerWords, protocol: SystemCProtocol): JsonObject {
  if (protocol === 'din70121') {
    return {
      PaymentOptions: { PaymentOption: ['ExternalPayment'] },
      ChargeService: {
        ServiceTag: { ServiceID: 1, ServiceCategory: 'EVCharging' },
        FreeService: false,
        EnergyTransferType: TRANSFER_MODE,
      },
    };
  }
  return {
    PaymentOptionList: { PaymentOption: ['ExternalPayment'] },
    ChargeService: {
      ServiceID: 1,
      ServiceCategory: 'EVCharging',
      FreeService: false,
      SupportedEnergyTransferMode: { EnergyTransferMode: [TRANSFER_MODE] },
    },
  };
}

function parameters(words: AnswerWords, protocol: SystemCProtocol): JsonObject {
  const { limits, minimum, ripple_A } = words;
  // ISO 15118-2 demands a power limit; the greatest there can be is what voltage and current allow together.
  const power_W = limits.power_W ?? limits.voltage_V * limits.current_A;
  return {
    ...processing(words, protocol),
    ...(protocol === 'iso15118-2' && words.processing === 'Finished' ? schedule(power_W) : {}),
    DC_EVSEChargeParameter: {
      ...status(words, protocol),
      EVSEMaximumCurrentLimit: physical(limits.current_A, 'A'),
      EVSEMaximumPowerLimit: physical(power_W, 'W'),
      EVSEMaximumVoltageLimit: physical(limits.voltage_V, 'V'),
      EVSEMinimumCurrentLimit: physical(minimum.current_A, 'A'),
      EVSEMinimumVoltageLimit: physical(minimum.voltage_V, 'V'),
      EVSEPeakCurrentRipple: physical(ripple_A, 'A'),
    },
  };
}

/** The one schedule PowerDeliveryReq refers to: full power for a day less a second, the longest there can be. */
function schedule(power_W: number): JsonObject {
  const entry = {
    RelativeTimeInterval: { start: 0, duration: 86_399 },
    PMax: physical(power_W, 'W'),
  };
  const tuple = { SAScheduleTupleID: 1, PMaxSchedule: { PMaxScheduleEntry: [entry] } };
  return { SAScheduleList: { SAScheduleTuple: [tuple] } };
}

function demand(words: AnswerWords, protocol: SystemCProtocol): JsonObject {
  const { presentCurrent_A, reached, receipt, chargerId, meter_Wh } = words;
  const asksReceipt = { MeterInfo: meterInfo(meter_Wh), ReceiptRequired: true };
  return {
    ...present(words, protocol),
    EVSEPresentCurrent: physical(presentCurrent_A, 'A'),
    EVSECurrentLimitAchieved: reached.current,
    EVSEVoltageLimitAchieved: reached.voltage,
    EVSEPowerLimitAchieved: reached.power,
    ...(protocol === 'din70121' ? {} : { EVSEID: chargerId, SAScheduleTupleID: 1 }),
    ...(protocol === 'iso15118-2' && receipt ? asksReceipt : {}),
  };
}
