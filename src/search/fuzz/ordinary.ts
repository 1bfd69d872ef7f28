// An ordinary vehicle and an ordinary station for a plan: quick ones, since what takes time decides nothing.
import { createChargerControl } from '../../simulate/charger-control.ts';
import type { CreateControl } from '../../simulate/control.ts';
import { Plant, type PlantSettings } from '../../simulate/plant.ts';
import { createVehicleControl } from '../../simulate/vehicle-control.ts';
import type { Side, TraceHeader } from '../../trace/observation.ts';
import type { FullPack } from './full-pack.ts';
import type { Plan } from './plan.ts';

/** End of charge of a cell; the trace's header says it. */
export const CELL_LIMIT_V = 4.2;
export const HEADER: TraceHeader = {
  handfast: 'trace',
  version: 1,
  epoch: null,
  recorder: 'handfast fuzz',
  cells: { highest_V: CELL_LIMIT_V },
};

/** Rated voltage of the station, the basis of ohms per volt. */
export const RATED_V = 1000;

/** Slopes of an ordinary station, well inside IEC 61851-23 101.2.1; switched off it is dead in some 10 ms. */
const PLANT: PlantSettings = {
  rise_A_per_s: 200,
  fall_A_per_s: 200,
  off_A_per_s: 20_000,
  voltageRise_V_per_s: 3000,
  dischargeTime_s: 0.02,
  cable_ohm: 0.01,
  closes_ms: 0.01,
  opens_ms: 5,
  locks_ms: 20,
  isolation_ohm: 2_000_000,
  holdsLow_V: 0,
};

export function ordinaryPlant({ pack }: Plan, light: FullPack): Plant {
  light.voltage_V = pack.voltage_V;
  return new Plant(PLANT, light, 0);
}

/** `session`: from 0; each has an id of its own. */
export function ordinaryControl(side: Side, plan: Plan, session: number): CreateControl {
  return side === 'vehicle' ? vehicleControl(plan) : chargerControl(plan, session);
}

function vehicleControl({ pack }: Plan): CreateControl {
  return createVehicleControl({
    limits: { voltage_V: pack.limit_V, current_A: pack.limit_A },
    demand: {
      cellLimit_V: CELL_LIMIT_V,
      taper_V: 0.02,
      cellResistance_ohm: 0.001,
      cutOff_A: 0,
      rise_A_per_s: 1000,
      fall_A_per_s: 1000,
      byTemperature: [[-100, pack.asks_A]],
    },
    target_percent: 100,
    closesWithin_V: 10,
    preCharge_A: 2,
    pauses: {
      setUp_ms: 20,
      cableCheck_ms: 100,
      preCharge_ms: 100,
      demand_ms: 50,
      shutdown_ms: 50,
      unlock_ms: 50,
    },
    vehicleId: '020000000007',
    errorCode: 'FAILED_EVRESSMalfunction',
  });
}

function chargerControl({ station }: Plan, session: number): CreateControl {
  const { limit_V, limit_A, limit_W } = station;
  return createChargerControl({
    limits: { voltage_V: limit_V, current_A: limit_A, power_W: limit_W },
    minimum: { voltage_V: 50, current_A: 0 },
    ripple_A: 1,
    ratedVoltage_V: RATED_V,
    testVoltage_V: 500,
    testCurrent_A: 0.1,
    preCharge_A: 2,
    times: { answerFrom_ms: 5, answerTo_ms: 15, authorization_ms: 0, isolationTest_ms: 60 },
    chargerId: 'ZZSMFE0001',
    sessionId: `A1B2C3D4E5F6070${session % 10}`,
  });
}
