// Parts of System C's message bodies as both protocols spell them: complete enough to be encoded, nothing optional but
// what is read.
import type { JsonObject } from '../../trace/observation.ts';
import type { Dialect } from './dialect.ts';

export type SystemCProtocol = Dialect['protocol'];

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

/** Value is a signed short, Multiplier goes from -3 to 3 (DIN SPEC 70121 9.5, ISO 15118-2 8.5.2.7). */
const LARGEST_VALUE = 32_767;
const LARGEST_MULTIPLIER = 3;

/**
 * A PhysicalValueType with a step of 0.1 (volts, amperes) or 1 (watts), or the next coarser one that holds the value;
 * beyond 32,767,000 it stays there.
 */
export function physical(value: number, unit: 'V' | 'A' | 'W'): JsonObject {
  let multiplier = unit === 'W' ? 0 : -1;
  // Tenths are reached by multiplying: 0.1 has no exact binary form.
  let mantissa = Math.round(unit === 'W' ? value : value * 10);
  while (Math.abs(mantissa) > LARGEST_VALUE && multiplier < LARGEST_MULTIPLIER) {
    multiplier += 1;
    mantissa = Math.round(value / 10 ** multiplier);
  }
  const fitting = Math.max(-LARGEST_VALUE, Math.min(LARGEST_VALUE, mantissa));
  // JSON and EXI have no negative zero.
  return { Multiplier: multiplier, Unit: unit, Value: fitting + 0 === 0 ? 0 : fitting };
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

export function evseStatus(protocol: SystemCProtocol, charger: ChargerStatus): JsonObject {
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
