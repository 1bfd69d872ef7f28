// A scenario with two machines → a trace.
import { LFP_202_AH, NMC_60_AH, parallel, type CellDesign } from '../physics/cell.ts';
import {
  FULL_RATE_perHour,
  LFP_FAST_CHARGE,
  NMC_FAST_CHARGE,
  type TemperatureBand,
} from '../physics/limits.ts';
import { Pack } from '../physics/pack.ts';
import type { SideMachine } from '../machine/convention.ts';
import type { OpenTrace, TraceHeader } from '../trace/observation.ts';
import { headerLine, observationLine } from '../trace/writer.ts';
import { createChargerControl } from './charger-control.ts';
import type { ChargerSettings } from './charger-settings.ts';
import { MachineSide } from './machine-side.ts';
import { Plant, type PlantSettings } from './plant.ts';
import { createRandom, type Random } from './random.ts';
import type { PackScenario, Scenario } from './scenario.ts';
import { scripted } from './strategy.ts';
import { simulate, type SimulationResult } from './simulation.ts';
import { createVehicleControl } from './vehicle-control.ts';
import type { VehicleSettings } from './vehicle-settings.ts';

export interface ScenarioRun extends SimulationResult {
  readonly header: TraceHeader;
}

const CELLS: Record<PackScenario['cell'], [CellDesign, readonly TemperatureBand[]]> = {
  'nmc 60 Ah': [NMC_60_AH, NMC_FAST_CHARGE],
  'lfp 202 Ah': [LFP_202_AH, LFP_FAST_CHARGE],
};

/** Slopes well inside what IEC 61851-23 101.2.1 asks; switched off it is dead in 10 to 20 ms. Our choice. */
const PLANT: Omit<PlantSettings, 'isolation_ohm' | 'holdsLow_V'> = {
  rise_A_per_s: 100,
  fall_A_per_s: 200,
  off_A_per_s: 20_000,
  voltageRise_V_per_s: 400,
  dischargeTime_s: 0.2,
  cable_ohm: 0.004,
  closes_ms: 50,
  opens_ms: 15,
  locks_ms: 300,
};

/** Both sides read their sensors so often. */
const SAMPLE_ms = 20;
/** From plugging in, through the matching, to the connection. */
const CONNECTS_AFTER_s = 2;
/** What the trace says of the cells: past these a rule breaks; the vehicle's own limits stand inside them. */
const CELL_MARGIN_V = 0.03;

/** Runs a scenario. The same scenario and machines give the same observations. */
export function runScenario(
  scenario: Scenario,
  machines: { readonly vehicle: SideMachine; readonly charger: SideMachine },
): ScenarioRun {
  const random = createRandom(scenario.seed);
  const [design, bands] = designOf(scenario.vehicle.pack);
  const pack = packOf(scenario.vehicle.pack, design, random);
  const { isolation_ohm, holdsLow_V, ratedVoltage_V } = scenario.charger;
  const plant = new Plant({ ...PLANT, isolation_ohm, holdsLow_V }, pack, 0);
  const side = (name: 'vehicle' | 'charger'): MachineSide => {
    const script = scenario.choices
      .filter((choice) => choice.side === name)
      .map(({ at_s, choose }) => ({ at_ns: Math.round(at_s * 1e9), type: choose }));
    return new MachineSide({
      machine: machines[name],
      control:
        name === 'vehicle'
          ? createVehicleControl(vehicleSettings(scenario, design, bands))
          : createChargerControl(chargerSettings(scenario, random)),
      strategy: (habits) => scripted(habits, script),
      random,
    });
  };
  const result = simulate({
    vehicle: side('vehicle'),
    charger: side('charger'),
    plant,
    faults: scenario.faults,
    duration_s: scenario.duration_s,
    linkDelay_ms: scenario.linkDelay_ms,
    connectsAfter_s: CONNECTS_AFTER_s,
    ratedVoltage_V,
    sample_ms: SAMPLE_ms,
  });
  return { ...result, header: headerOf(scenario, design, bands) };
}

/** A run as a trace, ready to be written or replayed. */
export function traceOf({ header, observations }: ScenarioRun): OpenTrace {
  async function* batches() {
    yield [...observations];
  }
  return { header, observations: batches() };
}

/** A run as the text of a trace file. */
export function traceText({ header, observations }: ScenarioRun): string {
  return `${[headerLine(header), ...observations.map(observationLine)].join('\n')}\n`;
}

/** The pack of a scenario, and what its cells take by their temperatures. */
export function packWithBands(
  pack: PackScenario,
  seed: number,
): { pack: Pack; bands: readonly TemperatureBand[] } {
  const [design, bands] = designOf(pack);
  return { pack: packOf(pack, design, createRandom(seed)), bands };
}

function designOf({
  cell,
  parallel: count,
}: PackScenario): [CellDesign, readonly TemperatureBand[]] {
  const [design, bands] = CELLS[cell];
  return [parallel(design, count), bands];
}

function packOf(pack: PackScenario, design: CellDesign, random: Random): Pack {
  const { capacity, resistance, stateOfCharge_percent } = pack.spread;
  const made = new Pack({
    design,
    cells: pack.cells,
    stateOfCharge: pack.stateOfCharge_percent / 100,
    temperature_C: pack.temperature_C,
    spread: { capacity, resistance, stateOfCharge: stateOfCharge_percent / 100 },
    random,
    ...(pack.coolant_C === undefined ? {} : { cooling: { inlet_C: pack.coolant_C } }),
  });
  const { weakCell } = pack;
  if (weakCell === undefined) return made;
  made.capacity_C[0] = design.capacity_C * (weakCell.capacity ?? 1);
  made.resistanceSpread[0] = weakCell.resistance ?? 1;
  const charge_percent = weakCell.stateOfCharge_percent ?? pack.stateOfCharge_percent;
  made.stateOfCharges[0] = charge_percent / 100;
  made.refresh();
  return made;
}

function vehicleSettings(
  { vehicle }: Scenario,
  design: CellDesign,
  bands: readonly TemperatureBand[],
): VehicleSettings {
  const { limits, target_percent, closesWithin_V, demandPause_ms } = vehicle;
  const capacity_Ah = design.capacity_C / 3600;
  return {
    limits,
    target_percent,
    closesWithin_V,
    preCharge_A: 1,
    demand: {
      cellLimit_V: design.highest_V,
      taper_V: 0.02,
      cellResistance_ohm: design.series_ohm + design.first.resistance_ohm,
      cutOff_A: FULL_RATE_perHour * capacity_Ah,
      rise_A_per_s: 50,
      fall_A_per_s: 100,
      byTemperature: [
        ...bands.map(({ from_C, rate_perHour }) => [from_C, rate_perHour * capacity_Ah] as const),
        [bands.at(-1)!.to_C, 0],
      ],
    },
    pauses: {
      setUp_ms: 60,
      cableCheck_ms: 400,
      preCharge_ms: 200,
      demand_ms: demandPause_ms,
      shutdown_ms: 200,
      unlock_ms: 500,
    },
    vehicleId: '02005E100007',
    errorCode: 'FAILED_EVRESSMalfunction',
  };
}

function chargerSettings({ charger, protocol }: Scenario, random: Random): ChargerSettings {
  const { limits, ratedVoltage_V, isolationTest_s, authorization_s } = charger;
  const half = (): string =>
    Math.floor(random() * 2 ** 32)
      .toString(16)
      .padStart(8, '0');
  return {
    limits,
    minimum: { voltage_V: 150, current_A: 1 },
    ripple_A: 1,
    ratedVoltage_V,
    testVoltage_V: 500,
    testCurrent_A: 1,
    preCharge_A: 2,
    times: {
      answerFrom_ms: 8,
      answerTo_ms: 20,
      authorization_ms: authorization_s * 1000,
      isolationTest_ms: isolationTest_s * 1000,
    },
    chargerId: protocol === 'din70121' ? '00' : 'ZZSMFE0003',
    sessionId: `${half()}${half()}`.toUpperCase(),
  };
}

function headerOf(
  { says, vehicle, charger }: Scenario,
  design: CellDesign,
  bands: readonly TemperatureBand[],
): TraceHeader {
  return {
    handfast: 'trace',
    version: 1,
    epoch: null,
    recorder: 'handfast simulate',
    says: says ?? `${vehicle.name} at ${charger.name}, simulated`,
    cells: {
      highest_V: Math.round((design.highest_V + CELL_MARGIN_V) * 1000) / 1000,
      lowest_V: design.lowest_V,
      hottest_C: bands.at(-1)!.to_C,
      coldest_C: bands[0]!.from_C,
    },
  };
}
