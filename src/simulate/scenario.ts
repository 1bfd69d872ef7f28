// A scenario: who meets whom, what goes wrong and when. Everything but the protocol has a usual value.
import type { SideLimits } from '../protocols/system-c/body-parts.ts';
import type { SystemCProtocol } from '../protocols/system-c/body-parts.ts';
import type { Side as SideName } from '../trace/observation.ts';
import type { Verdict } from '../rules/result.ts';
import type { Fault } from './faults.ts';

export interface Scenario {
  readonly says?: string;
  readonly protocol: SystemCProtocol;
  readonly seed: number;
  /** It ends here at the latest. */
  readonly duration_s: number;
  readonly vehicle: VehicleScenario;
  readonly charger: ChargerScenario;
  readonly linkDelay_ms: number;
  readonly faults: readonly Fault[];
  readonly choices: readonly { at_s: number; side: SideName; choose: string }[];
  readonly expect?: Expectation;
}

/** What a replay of the trace must say. */
export interface Expectation {
  readonly verdict: Verdict;
  /** Safety rules that must be broken, and no others. */
  readonly broken?: readonly string[];
}

export const CELL_NAMES = ['nmc 60 Ah', 'lfp 202 Ah'] as const;

export interface PackScenario {
  readonly cell: (typeof CELL_NAMES)[number];
  /** In series, and side by side. */
  readonly cells: number;
  readonly parallel: number;
  readonly stateOfCharge_percent: number;
  readonly temperature_C: number;
  readonly coolant_C?: number;
  /** Standard deviations of capacity and resistance (shares), and of the state of charge. */
  readonly spread: {
    readonly capacity: number;
    readonly resistance: number;
    readonly stateOfCharge_percent: number;
  };
  /** One cell unlike the others: its capacity and resistance as shares of theirs, its own state of charge. */
  readonly weakCell?: {
    readonly capacity?: number;
    readonly resistance?: number;
    readonly stateOfCharge_percent?: number;
  };
}

export interface VehicleScenario {
  readonly name: string;
  readonly pack: PackScenario;
  readonly limits: SideLimits;
  readonly target_percent: number;
  readonly closesWithin_V: number;
  /** From an answer to the next request while current flows. */
  readonly demandPause_ms: number;
}

export interface ChargerScenario {
  readonly name: string;
  readonly limits: SideLimits;
  readonly ratedVoltage_V: number;
  readonly isolation_ohm: number;
  readonly isolationTest_s: number;
  readonly authorization_s: number;
  /** Its output stays so far below what it is to hold, and its own meter does not see it. */
  readonly holdsLow_V: number;
}

const PACK: PackScenario = {
  cell: 'nmc 60 Ah',
  cells: 96,
  parallel: 3,
  stateOfCharge_percent: 50,
  temperature_C: 25,
  spread: { capacity: 0.01, resistance: 0.02, stateOfCharge_percent: 0.3 },
};

const VEHICLE: Omit<VehicleScenario, 'pack' | 'limits'> = {
  name: 'vehicle',
  target_percent: 80,
  closesWithin_V: 10,
  demandPause_ms: 200,
};

const CHARGER: Omit<ChargerScenario, 'limits' | 'ratedVoltage_V'> = {
  name: 'charger',
  isolation_ohm: 3_000_000,
  isolationTest_s: 2.5,
  authorization_s: 1,
  holdsLow_V: 0,
};

/** A scenario as its file says it: what is left out has its usual value. */
export type ScenarioText = Partial<Omit<Scenario, 'protocol' | 'vehicle' | 'charger'>> & {
  readonly protocol: SystemCProtocol;
  readonly vehicle?: Partial<Omit<VehicleScenario, 'pack' | 'limits'>> & {
    readonly pack?: Partial<Omit<PackScenario, 'spread'>> & {
      readonly spread?: Partial<PackScenario['spread']>;
    };
    readonly limits?: Partial<SideLimits>;
  };
  readonly charger?: Partial<Omit<ChargerScenario, 'limits'>> & {
    readonly limits?: Partial<SideLimits>;
  };
};

/** Highest voltage of one cell, for a pack's limit (src/physics/cell.ts). */
const CELL_HIGHEST_V: Record<PackScenario['cell'], number> = {
  'nmc 60 Ah': 4.2,
  'lfp 202 Ah': 3.65,
};

/** A whole scenario, usual values filled in. */
export function completeScenario(text: ScenarioText): Scenario {
  const { vehicle = {}, charger = {}, ...others } = text;
  const pack = {
    ...PACK,
    ...vehicle.pack,
    spread: { ...PACK.spread, ...vehicle.pack?.spread },
  };
  const most_V = Math.floor(pack.cells * CELL_HIGHEST_V[pack.cell]);
  const ratedVoltage_V = charger.ratedVoltage_V ?? (most_V > 500 ? 1000 : 500);
  return {
    seed: 1,
    duration_s: 600,
    linkDelay_ms: 2,
    faults: [],
    choices: [],
    ...others,
    vehicle: {
      ...VEHICLE,
      ...vehicle,
      pack,
      limits: { voltage_V: most_V, current_A: 250, ...vehicle.limits },
    },
    charger: {
      ...CHARGER,
      ...charger,
      ratedVoltage_V,
      limits: { voltage_V: ratedVoltage_V, current_A: 300, power_W: 150_000, ...charger.limits },
    },
  };
}
