// Bodies of System C messages as both protocols spell them: complete enough to be encoded, nothing optional but what
// rules read.
import type { Json, JsonObject } from '../../src/trace/observation.ts';

export type DialogueProtocol = 'din70121' | 'iso15118-2';

/** What the vehicle says of itself in every request from ChargeParameterDiscovery on. */
export interface VehicleStatus {
  ready?: boolean;
  error?: string;
  stateOfCharge_percent?: number;
}

/** What the charger says of itself in every answer. `isolation: null` leaves the field out (DIN allows it). */
export interface ChargerStatus {
  code?: string;
  status?: string;
  isolation?: string | null;
  notification?: 'None' | 'StopCharging' | 'ReNegotiation';
  /** NotificationMaxDelay, in seconds. */
  delay_s?: number;
}

/** A PhysicalValueType with a step of 0.1 (volts, amperes) or 1000 (watts). */
export function physical(value: number, unit: 'V' | 'A' | 'W'): JsonObject {
  const multiplier = unit === 'W' ? 3 : -1;
  const mantissa = unit === 'W' ? value / 1000 : value * 10;
  return { Multiplier: multiplier, Unit: unit, Value: Math.round(mantissa) };
}

export function evStatus({ ready, error, stateOfCharge_percent }: VehicleStatus): JsonObject {
  return {
    EVReady: ready ?? true,
    EVErrorCode: error ?? 'NO_ERROR',
    EVRESSSOC: stateOfCharge_percent ?? 24,
  };
}

/** The word of each protocol for a passed isolation test. */
export const goodIsolation = { din70121: 'Safe', 'iso15118-2': 'Valid' } as const;

export function evseStatus(protocol: DialogueProtocol, charger: ChargerStatus): JsonObject {
  const status: JsonObject = {
    NotificationMaxDelay: charger.delay_s ?? 0,
    EVSENotification: charger.notification ?? 'None',
    EVSEStatusCode: charger.status ?? 'EVSE_Ready',
  };
  const isolation = charger.isolation === undefined ? goodIsolation[protocol] : charger.isolation;
  if (isolation !== null) status['EVSEIsolationStatus'] = isolation;
  return status;
}

export interface SideLimits {
  voltage_V: number;
  current_A: number;
  power_W?: number;
}

export function parameterRequest(
  protocol: DialogueProtocol,
  limits: SideLimits,
  vehicle: VehicleStatus,
): JsonObject {
  const mode = protocol === 'din70121' ? 'EVRequestedEnergyTransferType' : undefined;
  const parameters: JsonObject = {
    DC_EVStatus: evStatus({ ready: false, ...vehicle }),
    EVMaximumCurrentLimit: physical(limits.current_A, 'A'),
    EVMaximumVoltageLimit: physical(limits.voltage_V, 'V'),
  };
  if (limits.power_W !== undefined) {
    parameters['EVMaximumPowerLimit'] = physical(limits.power_W, 'W');
  }
  return {
    [mode ?? 'RequestedEnergyTransferMode']: 'DC_extended',
    DC_EVChargeParameter: parameters,
  };
}

export function parameterAnswer(
  protocol: DialogueProtocol,
  limits: SideLimits,
  charger: ChargerStatus,
): JsonObject {
  const parameters: JsonObject = {
    DC_EVSEStatus: evseStatus(protocol, {
      isolation: 'Invalid',
      status: 'EVSE_NotReady',
      ...charger,
    }),
    EVSEMaximumCurrentLimit: physical(limits.current_A, 'A'),
    EVSEMaximumVoltageLimit: physical(limits.voltage_V, 'V'),
    EVSEMinimumCurrentLimit: physical(1, 'A'),
    EVSEMinimumVoltageLimit: physical(150, 'V'),
    EVSEPeakCurrentRipple: physical(1, 'A'),
  };
  if (limits.power_W !== undefined) {
    parameters['EVSEMaximumPowerLimit'] = physical(limits.power_W, 'W');
  }
  return {
    ResponseCode: charger.code ?? 'OK',
    EVSEProcessing: 'Finished',
    DC_EVSEChargeParameter: parameters,
  };
}

export function powerDelivery(
  protocol: DialogueProtocol,
  progress: 'Start' | 'Stop' | 'Renegotiate',
  vehicle: VehicleStatus,
): JsonObject {
  const parameters = { DC_EVStatus: evStatus(vehicle), ChargingComplete: progress === 'Stop' };
  const what: JsonObject =
    protocol === 'din70121'
      ? { ReadyToChargeState: progress === 'Start' }
      : { ChargeProgress: progress, SAScheduleTupleID: 1 };
  return { ...what, DC_EVPowerDeliveryParameter: parameters };
}

/** Set-up of a session up to its authorization: name, request, answer. */
export function setUp(protocol: DialogueProtocol): [string, JsonObject, JsonObject][] {
  const din = protocol === 'din70121';
  const service: Json = din
    ? {
        ServiceTag: { ServiceID: 1, ServiceCategory: 'EVCharging' },
        FreeService: false,
        EnergyTransferType: 'DC_extended',
      }
    : {
        ServiceID: 1,
        ServiceCategory: 'EVCharging',
        FreeService: false,
        SupportedEnergyTransferMode: { EnergyTransferMode: ['DC_extended'] },
      };
  const options = { PaymentOption: ['ExternalPayment'] };
  const selection = {
    SelectedPaymentOption: 'ExternalPayment',
    SelectedServiceList: { SelectedService: [{ ServiceID: 1 }] },
  };
  const discovery: JsonObject = {
    ResponseCode: 'OK',
    [din ? 'PaymentOptions' : 'PaymentOptionList']: options,
    ChargeService: service,
  };
  return [
    ['ServiceDiscovery', {}, discovery],
    [
      din ? 'ServicePaymentSelection' : 'PaymentServiceSelection',
      selection,
      { ResponseCode: 'OK' },
    ],
    [
      din ? 'ContractAuthentication' : 'Authorization',
      {},
      { ResponseCode: 'OK', EVSEProcessing: 'Finished' },
    ],
  ];
}
