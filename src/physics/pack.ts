// A pack: cells in series, each with its own capacity, resistance, charge and temperature. Charging current positive.
//
//   const pack = new Pack({ design: NMC_60_AH, cells: 96, stateOfCharge: 0.2, temperature_C: 20, spread, random });
//   pack.step(dt_s, current_A);        // the current is constant over the step; any step length is stable
//   pack.voltage_V, highestCell_V, lowestCell_V, hottest_C, coldest_C, stateOfCharge      // at the last current
//   pack.restVoltage_V, resistance_ohm // voltage_V = restVoltage_V + resistance_ohm · current, for any next current
//   pack.highestChargeCurrent_A(limit_V), highestDischargeCurrent_A(limit_V)              // by the weakest cell
//   pack.charge_C, energyIn_J, heat, bleedHeat_J, storedEnergy_J                          // the books
//
// The electrical part is exact at any step (cell-string.ts). What is slow is done every TICK_s: temperatures, the
// resistances that follow from them, balancing.
import { PassiveBalancing } from './balancing.ts';
import { endsFactor, resistanceFactor, type CellDesign } from './cell.ts';
import { drawCells, type CellSpread } from './cell-spread.ts';
import { CellString } from './cell-string.ts';
import { PackHeat, type CoolingOptions } from './pack-heat.ts';

export interface PackOptions {
  readonly design: CellDesign;
  readonly cells: number;
  readonly stateOfCharge: number;
  readonly temperature_C: number;
  readonly spread?: CellSpread;
  /** From 0 to below 1; needed with a spread. */
  readonly random?: () => number;
  readonly cooling?: CoolingOptions;
  readonly balancing?: PassiveBalancing;
}

/** Temperatures move over minutes, a bleed of 0.4 A over hours: a tenth of a second is short for both. */
const TICK_s = 0.1;

/** "A few hundred to a few thousand" is common practice; this is where a slip of the pen is told from a pack. */
const MOST_CELLS = 10_000;

export class Pack {
  readonly design: CellDesign;
  /** Each cell's resistances as a multiple of the design's at 25 °C, half charged. */
  readonly resistanceSpread: Float64Array;
  readonly heat: PackHeat;
  readonly balancing: PassiveBalancing | null;
  /** Into the terminals since the start. */
  charge_C = 0;
  energyIn_J = 0;
  bleedHeat_J = 0;

  readonly #string: CellString;
  readonly #heat_J: Float64Array;
  #sinceTick_s = 0;
  /** Heat since the tick of a cell of scale 1. */
  #heatPerScale_J = 0;

  constructor(options: PackOptions) {
    const { design, cells, spread = {} } = options;
    if (!(Number.isInteger(cells) && cells > 0 && cells <= MOST_CELLS)) {
      throw new RangeError(`cells must be a whole number from 1 to ${MOST_CELLS}, not ${cells}`);
    }
    this.design = design;
    const draw = drawCells(cells, spread, options.random);
    const capacity_C = draw(design.capacity_C, (spread.capacity ?? 0) * design.capacity_C);
    this.resistanceSpread = draw(1, spread.resistance ?? 0);
    const stateOfCharges = draw(options.stateOfCharge, spread.stateOfCharge ?? 0);
    this.#string = new CellString(design, capacity_C, stateOfCharges);
    const { heatCapacity_J_per_K } = design;
    this.heat = new PackHeat(cells, heatCapacity_J_per_K, options.temperature_C, options.cooling);
    this.balancing = options.balancing ?? null;
    this.#heat_J = new Float64Array(cells);
    this.refresh();
  }

  /** After a change by hand to capacity_C, stateOfCharges, resistanceSpread or heat.temperature_C. */
  refresh(): void {
    const { scale, stateOfCharges } = this.#string;
    for (let cell = 0; cell < this.cells; cell += 1) {
      scale[cell] = this.#scaleOf(cell, stateOfCharges[cell]!);
    }
    this.#string.refresh();
  }

  step(dt_s: number, current_A: number): void {
    if (!(dt_s > 0 && Number.isFinite(dt_s) && Number.isFinite(current_A))) {
      throw new RangeError(`a step of ${dt_s} s at ${current_A} A is none`);
    }
    const string = this.#string;
    string.step(dt_s, current_A);
    this.charge_C += current_A * dt_s;
    this.energyIn_J += string.energy_J;
    this.#heatPerScale_J += string.heatPerScale_J;
    this.#sinceTick_s += dt_s;
    // A step that is a hair short of the tick by rounding counts.
    if (this.#sinceTick_s >= TICK_s - 1e-9) this.#tick();
  }

  #scaleOf(cell: number, stateOfCharge: number): number {
    return (
      this.resistanceSpread[cell]! *
      resistanceFactor(this.heat.temperature_C[cell]!) *
      endsFactor(this.design, stateOfCharge)
    );
  }

  #tick(): void {
    const dt_s = this.#sinceTick_s;
    const string = this.#string;
    const { scale, stateOfCharges } = string;
    const heat_J = this.#heat_J.fill(0);
    if (this.balancing !== null) this.#bleed(this.balancing, dt_s);
    // A resistance that changes changes what the capacitor beside it stores (same time constant): that is heat too.
    const relaxing_J = string.relaxingPerScale_J;
    for (let cell = 0; cell < heat_J.length; cell += 1) {
      const last = scale[cell]!;
      const next = this.#scaleOf(cell, stateOfCharges[cell]!);
      heat_J[cell] = heat_J[cell]! + last * this.#heatPerScale_J + (last - next) * relaxing_J;
      scale[cell] = next;
    }
    string.refresh();
    this.heat.step(dt_s, heat_J);
    this.#heatPerScale_J = 0;
    this.#sinceTick_s = 0;
  }

  /**
   * The bleeding cells lose charge through their resistors, at the voltage of this moment. What the cell gives beyond
   * what the resistor takes (or lacks, while the pack's current feeds the resistor past it) is the cell's own heat. That
   * the bleed also relaxes the cell's pairs, below 0.5 mV, is left out.
   */
  #bleed(balancing: PassiveBalancing, dt_s: number): void {
    balancing.choose(this);
    const string = this.#string;
    const { stateOfCharges } = string;
    for (let cell = 0; cell < this.cells; cell += 1) {
      if (balancing.bleeds[cell] !== 1) continue;
      const cell_V = string.cellVoltage_V(cell);
      const charge_C = (cell_V / balancing.resistance_ohm) * dt_s;
      const before_J = string.cellEnergy_J(cell);
      stateOfCharges[cell] = stateOfCharges[cell]! - charge_C / this.capacity_C[cell]!;
      const resistor_J = cell_V * charge_C;
      this.bleedHeat_J += resistor_J;
      balancing.charge_C[cell] = balancing.charge_C[cell]! + charge_C;
      this.#heat_J[cell] = before_J - string.cellEnergy_J(cell) - resistor_J;
    }
  }

  get cells(): number {
    return this.resistanceSpread.length;
  }

  get capacity_C(): Float64Array {
    return this.#string.capacity_C;
  }

  /** Share of the capacity above 0 %, a cell; call refresh() after a change. */
  get stateOfCharges(): Float64Array {
    return this.#string.stateOfCharges;
  }

  /** The mean of the cells, as a display shows it. */
  get stateOfCharge(): number {
    return this.stateOfCharges.reduce((a, b) => a + b) / this.cells;
  }

  get current_A(): number {
    return this.#string.current_A;
  }

  get voltage_V(): number {
    return this.#string.voltage_V;
  }

  /** Terminal voltage if the current were 0 from this moment on. */
  get restVoltage_V(): number {
    return this.#string.restVoltage_V;
  }

  /** By how much a current lifts the terminal voltage at once. */
  get resistance_ohm(): number {
    return this.#string.resistance_ohm;
  }

  get highestCell_V(): number {
    return this.#string.highest_V;
  }

  get lowestCell_V(): number {
    return this.#string.lowest_V;
  }

  cellVoltage_V(cell: number): number {
    return this.#string.cellVoltage_V(cell);
  }

  get hottest_C(): number {
    return this.heat.temperature_C.reduce((a, b) => Math.max(a, b));
  }

  get coldest_C(): number {
    return this.heat.temperature_C.reduce((a, b) => Math.min(a, b));
  }

  /** In the cells (above 0 %) and in the capacitors of their pairs. */
  get storedEnergy_J(): number {
    let stored_J = this.#string.scales * this.#string.relaxingPerScale_J;
    for (let cell = 0; cell < this.cells; cell += 1) stored_J += this.#string.cellEnergy_J(cell);
    return stored_J;
  }

  /** Heat since the last tick, not yet handed to `heat`. */
  get pendingHeat_J(): number {
    return this.#string.scales * this.#heatPerScale_J;
  }

  /** The current at which the first cell reaches `limit_V`; 0 when one is there already. */
  highestChargeCurrent_A(limit_V: number): number {
    return Math.max(0, this.#string.currentToReach_A(limit_V, 1));
  }

  /** The same the other way, as a positive number: the current at which the first cell falls to `limit_V`. */
  highestDischargeCurrent_A(limit_V: number): number {
    return Math.max(0, this.#string.currentToReach_A(limit_V, -1));
  }
}
