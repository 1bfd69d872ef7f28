// A pack of 400 cells charged at constant current and held by its highest cell, in steps of a millisecond: simulated
// seconds a second on one core, against the same equations over one object a cell. Both must come to the same voltage.
import { argv, cpuUsage } from 'node:process';
import { pathToFileURL } from 'node:url';
import { MODEL_LIBRARY_CELL, parallel, resistanceFactor } from '../../src/physics/cell.ts';
import { CHARGER_150_KW } from '../../src/physics/charger-stage.ts';
import { ChargingCircuit } from '../../src/physics/charging-circuit.ts';
import { openCircuitVoltage_V } from '../../src/physics/open-circuit-voltage.ts';
import { Pack } from '../../src/physics/pack.ts';

const CELLS = 400;
const STEP_s = 1e-3;
const SIMULATED_s = 100;
const ROUNDS = 3;
const FLOOR = 50;
const WANTED_A = 150;
const DESIGN = parallel(MODEL_LIBRARY_CELL, 20);

function createPack(): Pack {
  let drawn = 1;
  const random = (): number => {
    drawn = (drawn * 48_271) % 2_147_483_647;
    return drawn / 2_147_483_647;
  };
  const spread = { capacity: 0.02, resistance: 0.05, stateOfCharge: 0.01 };
  // High enough that the highest cell comes to its limit within the run.
  return new Pack({
    design: DESIGN,
    cells: CELLS,
    stateOfCharge: 0.95,
    temperature_C: 25,
    spread,
    random,
  });
}

/** The control of every step: by how much the highest cell is past its limit, the current goes down. */
function nextCurrent_A(current_A: number, highest_V: number): number {
  const room_A = (DESIGN.highest_V - highest_V) / DESIGN.series_ohm;
  return Math.max(0, Math.min(WANTED_A, current_A + 0.5 * room_A));
}

/** Of both pairs over a step. */
const DECAY: [number, number] = [
  Math.exp(-STEP_s / DESIGN.first.tau_s),
  Math.exp(-STEP_s / DESIGN.second.tau_s),
];

/** One cell as one would write it first: two voltages across capacitors, temperature every tenth of a second. */
class PlainCell {
  stateOfCharge: number;
  temperature_C: number;
  capacity_C: number;
  spread: number;
  factor: number;
  first_V = 0;
  second_V = 0;
  voltage_V = 0;
  heat_J = 0;

  constructor(stateOfCharge: number, capacity_C: number, spread: number, temperature_C: number) {
    this.stateOfCharge = stateOfCharge;
    this.capacity_C = capacity_C;
    this.spread = spread;
    this.temperature_C = temperature_C;
    this.factor = spread * resistanceFactor(temperature_C);
  }

  step(dt_s: number, current_A: number): void {
    const { series_ohm, first, second, curve } = DESIGN;
    const full1_V = current_A * first.resistance_ohm * this.factor;
    const full2_V = current_A * second.resistance_ohm * this.factor;
    this.first_V = full1_V + (this.first_V - full1_V) * DECAY[0];
    this.second_V = full2_V + (this.second_V - full2_V) * DECAY[1];
    this.stateOfCharge += (current_A * dt_s) / this.capacity_C;
    const above_V = current_A * series_ohm * this.factor + this.first_V + this.second_V;
    this.voltage_V = openCircuitVoltage_V(curve, this.stateOfCharge) + above_V;
    this.heat_J += above_V * current_A * dt_s;
  }

  tick(dt_s: number, coolant_C: number): void {
    const { heatCapacity_J_per_K } = DESIGN;
    const left = Math.exp(-dt_s / heatCapacity_J_per_K);
    const final_C = coolant_C + this.heat_J / dt_s;
    this.temperature_C = final_C + (this.temperature_C - final_C) * left;
    this.heat_J = 0;
    this.factor = this.spread * resistanceFactor(this.temperature_C);
  }
}

interface Ran {
  voltage_V: number;
  rate: number;
}

/** By the time of the processor: what else the machine does is not counted. */
function timed(simulate: () => number): Ran {
  const begun = cpuUsage();
  const voltage_V = simulate();
  const { user, system } = cpuUsage(begun);
  return { voltage_V, rate: SIMULATED_s / ((user + system) / 1e6) };
}

function ours(): Ran {
  const pack = createPack();
  return timed(() => {
    let current_A = WANTED_A;
    for (let step = 0; step < SIMULATED_s / STEP_s; step += 1) {
      pack.step(STEP_s, current_A);
      current_A = nextCurrent_A(current_A, pack.highestCell_V);
    }
    return pack.voltage_V;
  });
}

function plain(): Ran {
  const pack = createPack();
  const cells = Array.from(
    pack.stateOfCharges,
    (stateOfCharge, i) =>
      new PlainCell(stateOfCharge, pack.capacity_C[i]!, pack.resistanceSpread[i]!, 25),
  );
  return timed(() => {
    let current_A = WANTED_A;
    let voltage_V = 0;
    for (let step = 1; step <= SIMULATED_s / STEP_s; step += 1) {
      let highest_V = 0;
      voltage_V = 0;
      for (const cell of cells) {
        cell.step(STEP_s, current_A);
        highest_V = Math.max(highest_V, cell.voltage_V);
        voltage_V += cell.voltage_V;
      }
      if (step % 100 === 0) for (const cell of cells) cell.tick(0.1, 25);
      current_A = nextCurrent_A(current_A, highest_V);
    }
    return voltage_V;
  });
}

/** Everything between a charger and that pack, the vehicle asking by its highest cell every `every` steps. */
function wholeCircuit(every: number): Ran {
  const circuit = new ChargingCircuit({
    charger: { ...CHARGER_150_KW, highest_V: 2000 },
    pack: createPack(),
  });
  const { stage, chargerContactor, vehiclePositive, vehicleNegative } = circuit;
  for (const contactor of [chargerContactor, vehiclePositive, vehicleNegative])
    contactor.command('closed');
  return timed(() => {
    for (let step = 0; step < SIMULATED_s / STEP_s; step += 1) {
      circuit.step(STEP_s);
      if (step % every !== 0) continue;
      stage.command('on', 2000, nextCurrent_A(circuit.current_A, circuit.pack.highestCell_V));
    }
    return circuit.battery_V;
  });
}

/** Two lines: the pack with its peer, and the whole circuit. */
export async function run(): Promise<string[]> {
  const rates: [number, number, number, number][] = [];
  for (let round = 0; round < ROUNDS; round += 1) {
    const [mine, peer] = [ours(), plain()];
    // The peer's coolant stands still, ours warms by the heat of a few minutes: a thousandth of the overpotential.
    if (!(Math.abs(mine.voltage_V - peer.voltage_V) < 0.01)) {
      throw new Error(`${mine.voltage_V} V here, ${peer.voltage_V} V from one object a cell`);
    }
    rates.push([mine.rate, peer.rate, wholeCircuit(1).rate, wholeCircuit(100).rate]);
  }
  const [rate, peer, every, tenth] = [0, 1, 2, 3].map((i) => median(rates.map((all) => all[i]!)));
  return [
    `pack of ${CELLS} cells, 1 ms control steps: ${rate!.toFixed(0)} simulated s/s (floor ${FLOOR}), ` +
      `${(rate! / peer!).toFixed(1)}x one object a cell (${peer!.toFixed(0)} s/s)`,
    `the same pack with charger, cable, contactors and isolation: ${every!.toFixed(0)} simulated s/s; ` +
      `its cells read every 100 ms: ${tenth!.toFixed(0)} simulated s/s`,
  ];
}

function median(values: number[]): number {
  return values.sort((a, b) => a - b)[values.length >> 1]!;
}

if (argv[1] !== undefined && import.meta.url === pathToFileURL(argv[1]).href) {
  for (const line of await run()) console.log(line);
}
