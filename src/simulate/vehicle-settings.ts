// What a vehicle is like, and what its habits know of its mind.
import type { SideLimits } from '../protocols/system-c/body-parts.ts';
import type { DemandSettings } from './demand.ts';

/** How long it takes over each step, in milliseconds. */
export interface VehiclePauses {
  readonly setUp_ms: number;
  readonly cableCheck_ms: number;
  readonly preCharge_ms: number;
  /** From answer to request in the CurrentDemand loop. */
  readonly demand_ms: number;
  readonly shutdown_ms: number;
  readonly unlock_ms: number;
}

export interface VehicleSettings {
  readonly limits: SideLimits;
  readonly demand: DemandSettings;
  /** It charges to this. */
  readonly target_percent: number;
  /** Its own gate, inside that of the standard. */
  readonly closesWithin_V: number;
  readonly preCharge_A: number;
  readonly pauses: VehiclePauses;
  readonly vehicleId: string;
  /** EVErrorCode it sends when it has a fault. */
  readonly errorCode: string;
}

/** What the habits read of the vehicle's own mind. */
export interface VehicleMind {
  readonly settings: VehicleSettings;
  readonly demand_A: number;
  wantsStop(): boolean;
  readonly hasFault: boolean;
  readonly stopsSaid: number;
  readonly endsSaid: number;
  readonly weldChecks: number;
  /** Decides on the current of a request at this time. */
  consider(at_ns: number): void;
}
