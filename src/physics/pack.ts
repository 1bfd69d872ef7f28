// A pack: cells in series, each with its own capacity, resistance, charge and temperature. Charging current positive.
//
//   const pack = new Pack({ design: NMC_60_AH, cells: 96, stateOfCharge: 0.2, temperature_C: 20, spread, random });
//   pack.step(dt_s, current_A);        // the current is constant over the step; any step length is stable
//   pack.voltage_V, highestCell_V, lowestCell_V, hottest_C, coldest_C, stateOfCharge      // at the last current
//   pack.restVoltage_V, resistance_ohm // voltage_V = restVoltage_V + resistance_ohm · current, for any next current
//   pack.highestChargeCurrent_A(limit_V), highestDischargeCurrent_A(limit_V)              // by the weakest cell
//   pack.charge_C, energyIn_J, heat, bleedHeat_J, storedEnergy_J                          // the books
//
// In series all cells share current and time constants. So the pairs of resistor and capacitor are followed once, by the
// current through their resistors, and while every cell stays on its line of the open-circuit curve all voltages are
// linear in the charge that has passed: a step moves a few sums, and only who asks for a cell pays for the cells. Cells are
// settled (charge handed to each, its line looked up) when one leaves its line and every TICK_s, when also what is slow is
// done: temperatures, the resistances that follow from them, balancing. Voltages and charges are those of
// cells stepped one by one; only what is slow waits for the tick.
import { PassiveBalancing } from './balancing.ts';
import { endsFactor, resistanceFactor, type CellDesign } from './cell.ts';
import { openCircuitEnergy_V } from './open-circuit-voltage.ts';
import { PackHeat, type CoolingOptions } from './pack-heat.ts';
import { RelaxedCurrent } from './relaxed-current.ts';

interface PackSpread {
  /**
   * Standard deviations: shares of the design's capacity and resistance, below a third, and of the state of charge itself.
   */
  readonly capacity?: number;
  readonly resistance?: number;
  readonly stateOfCharge?: number;
}

export interface PackOptions {
  readonly design: CellDesign;
  readonly cells: number;
  readonly stateOfCharge: number;
  readonly temperature_C: number;
  readonly spread?: PackSpread;
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
  readonly capacity_C: Float64Array;
  /** Each cell's resistances as a multiple of the design's at 25 °C, half charged. */
  readonly resistanceSpread: Float64Array;
  readonly heat: PackHeat;
  readonly balancing: PassiveBalancing | null;
  current_A = 0;
  /** Into the terminals since the start. */
  charge_C = 0;
  energyIn_J = 0;
  bleedHeat_J = 0;

  readonly #first: RelaxedCurrent;
  readonly #second: RelaxedCurrent;
  /** Resistances now as a multiple of the design's, a cell, and their sum. */
  readonly #scale: Float64Array;
  #scales = 0;
  readonly #heat_J: Float64Array;
  readonly #perCoulomb: Float64Array;
  /** As of when the cells were settled: share of the capacity above 0 %, and open-circuit voltage. */
  readonly #stateOfCharges: Float64Array;
  readonly #settled_V: Float64Array;
  /** How that voltage moves with the charge that has passed since. */
  readonly #slope_V_per_C: Float64Array;
  #settledSum_V = 0;
  #slopeSum_V_per_C = 0;
  #since_C = 0;
  /** The charge that may pass until the first cell leaves its line. */
  #roomUp_C = 0;
  #roomDown_C = 0;
  /** Terminal voltages of the extreme cells, NaN when they were not looked up since the last change. */
  #highest_V = Number.NaN;
  #lowest_V = Number.NaN;
  #sinceTick_s = 0;
  /** Heat since the tick of a cell of scale 1. */
  #heatPerScale_J = 0;

  constructor(options: PackOptions) {
    const { design, cells } = options;
    if (!(Number.isInteger(cells) && cells > 0 && cells <= MOST_CELLS)) {
      throw new RangeError(`cells must be a whole number from 1 to ${MOST_CELLS}, not ${cells}`);
    }
    this.design = design;
    const { capacity = 0, resistance = 0, stateOfCharge = 0 } = options.spread ?? {};
    if (!(capacity < 1 / 3 && resistance < 1 / 3)) {
      throw new RangeError('a spread of a third or more makes cells below nothing');
    }
    const draw = deviations(options.random);
    const drawn = (around: number, deviation: number): Float64Array =>
      Float64Array.from({ length: cells }, () => around + (deviation > 0 ? deviation * draw() : 0));
    this.capacity_C = drawn(design.capacity_C, capacity * design.capacity_C);
    this.resistanceSpread = drawn(1, resistance);
    this.#stateOfCharges = drawn(options.stateOfCharge, stateOfCharge);
    this.heat = new PackHeat(
      cells,
      design.heatCapacity_J_per_K,
      options.temperature_C,
      options.cooling,
    );
    this.balancing = options.balancing ?? null;
    this.#first = new RelaxedCurrent(design.first);
    this.#second = new RelaxedCurrent(design.second);
    this.#scale = new Float64Array(cells);
    this.#settled_V = new Float64Array(cells);
    this.#slope_V_per_C = new Float64Array(cells);
    this.#heat_J = new Float64Array(cells);
    this.#perCoulomb = new Float64Array(cells);
    this.refresh();
  }

  get cells(): number {
    return this.capacity_C.length;
  }

  /** Share of the capacity above 0 %, a cell; call refresh() after a change. */
  get stateOfCharges(): Float64Array {
    this.#settle();
    return this.#stateOfCharges;
  }

  /** After a change to the public arrays by hand. */
  refresh(): void {
    for (let cell = 0; cell < this.cells; cell += 1) {
      this.#perCoulomb[cell] = 1 / this.capacity_C[cell]!;
    }
    this.#settle();
    for (let cell = 0; cell < this.cells; cell += 1) this.#scale[cell] = this.#scaleOf(cell);
    this.#scales = sum(this.#scale);
  }

  step(dt_s: number, current_A: number): void {
    if (!(dt_s > 0 && Number.isFinite(dt_s) && Number.isFinite(current_A))) {
      throw new RangeError(`a step of ${dt_s} s at ${current_A} A is none`);
    }
    const { series_ohm, first, second } = this.design;
    const before_V = this.#openCircuit_V;
    const charge_C = current_A * dt_s;
    this.#first.step(dt_s, current_A);
    this.#second.step(dt_s, current_A);
    this.current_A = current_A;
    this.charge_C += charge_C;
    this.#since_C += charge_C;
    this.#highest_V = Number.NaN;
    if (this.#since_C > this.#roomUp_C || this.#since_C < this.#roomDown_C) this.#settle();
    this.#heatPerScale_J +=
      series_ohm * current_A * charge_C +
      first.resistance_ohm * this.#first.squared_A2s +
      second.resistance_ohm * this.#second.squared_A2s;
    this.energyIn_J +=
      charge_C * ((before_V + this.#openCircuit_V) / 2 + this.#scales * series_ohm * current_A) +
      current_A *
        this.#scales *
        (first.resistance_ohm * this.#first.charge_C +
          second.resistance_ohm * this.#second.charge_C);
    this.#sinceTick_s += dt_s;
    // A step that is a hair short of the tick by rounding counts.
    if (this.#sinceTick_s >= TICK_s - 1e-9) this.#tick();
  }

  get #openCircuit_V(): number {
    return this.#settledSum_V + this.#slopeSum_V_per_C * this.#since_C;
  }

  /** Hands every cell what has passed since, and looks up its line. */
  #settle(): void {
    const { capacity_C } = this;
    const perCoulomb = this.#perCoulomb;
    const { offset_V, slope_V } = this.design.curve;
    const stateOfCharges = this.#stateOfCharges;
    const since_C = this.#since_C;
    let [sum_V, slopes, roomUp_C, roomDown_C] = [0, 0, Infinity, -Infinity];
    for (let cell = 0; cell < stateOfCharges.length; cell += 1) {
      const cell_C = capacity_C[cell]!;
      const stateOfCharge = stateOfCharges[cell]! + since_C * perCoulomb[cell]!;
      stateOfCharges[cell] = stateOfCharge;
      // openCircuitVoltage_V, written out.
      const percent = stateOfCharge * 100;
      const line = percent < 0 ? 0 : percent >= 100 ? 99 : percent | 0;
      const settled_V = offset_V[line]! + slope_V[line]! * percent;
      const slope_V_per_C = slope_V[line]! * 100 * perCoulomb[cell]!;
      this.#settled_V[cell] = settled_V;
      this.#slope_V_per_C[cell] = slope_V_per_C;
      sum_V += settled_V;
      slopes += slope_V_per_C;
      const up_C = ((line + 1 - percent) / 100) * cell_C;
      const down_C = ((line - percent) / 100) * cell_C;
      // The first and the last line go on for ever.
      if (line < 99 && up_C < roomUp_C) roomUp_C = up_C;
      if (line > 0 && down_C > roomDown_C) roomDown_C = down_C;
    }
    this.#settledSum_V = sum_V;
    this.#slopeSum_V_per_C = slopes;
    this.#since_C = 0;
    this.#roomUp_C = roomUp_C;
    this.#roomDown_C = roomDown_C;
    this.#highest_V = Number.NaN;
  }

  #findExtremes(): void {
    const settled_V = this.#settled_V;
    const slope_V_per_C = this.#slope_V_per_C;
    const scale = this.#scale;
    const since_C = this.#since_C;
    const above_V = this.#above_V;
    let [highest_V, lowest_V] = [-Infinity, Infinity];
    for (let cell = 0; cell < settled_V.length; cell += 1) {
      const cell_V = settled_V[cell]! + slope_V_per_C[cell]! * since_C + scale[cell]! * above_V;
      if (cell_V > highest_V) highest_V = cell_V;
      if (cell_V < lowest_V) lowest_V = cell_V;
    }
    this.#highest_V = highest_V;
    this.#lowest_V = lowest_V;
  }

  get highestCell_V(): number {
    if (Number.isNaN(this.#highest_V)) this.#findExtremes();
    return this.#highest_V;
  }

  get lowestCell_V(): number {
    if (Number.isNaN(this.#highest_V)) this.#findExtremes();
    return this.#lowest_V;
  }

  get voltage_V(): number {
    return this.#openCircuit_V + this.#scales * this.#above_V;
  }

  /** What the current and the pairs add to the voltage of a cell of scale 1. */
  get #above_V(): number {
    return this.design.series_ohm * this.current_A + this.#relaxing_V();
  }

  /** What the pairs alone add. */
  #relaxing_V(): number {
    const { first, second } = this.design;
    return (
      first.resistance_ohm * this.#first.current_A + second.resistance_ohm * this.#second.current_A
    );
  }

  #scaleOf(cell: number): number {
    return (
      this.resistanceSpread[cell]! *
      resistanceFactor(this.heat.temperature_C[cell]!) *
      endsFactor(this.design, this.#stateOfCharges[cell]!)
    );
  }

  #tick(): void {
    const dt_s = this.#sinceTick_s;
    const scale = this.#scale;
    const heat_J = this.#heat_J.fill(0);
    this.#settle();
    if (this.balancing !== null) this.#bleed(this.balancing, dt_s);
    // A resistance that changes changes what the capacitor beside it stores (same time constant): that is heat too.
    const relaxing_J = this.#relaxingEnergyPerScale_J();
    let scales = 0;
    for (let cell = 0; cell < heat_J.length; cell += 1) {
      const last = scale[cell]!;
      const next = this.#scaleOf(cell);
      heat_J[cell] = heat_J[cell]! + last * this.#heatPerScale_J + (last - next) * relaxing_J;
      scale[cell] = next;
      scales += next;
    }
    this.#scales = scales;
    this.heat.step(dt_s, heat_J);
    this.#heatPerScale_J = 0;
    this.#sinceTick_s = 0;
    this.#highest_V = Number.NaN;
  }

  /**
   * The bleeding cells lose charge through their resistors, at the voltage of this moment. What the cell gives beyond
   * what the resistor takes (or lacks, while the pack's current feeds the resistor past it) is the cell's own heat. That
   * the bleed also relaxes the cell's pairs, below 0.5 mV, is left out.
   */
  #bleed(balancing: PassiveBalancing, dt_s: number): void {
    balancing.choose(this);
    const stateOfCharges = this.#stateOfCharges;
    for (let cell = 0; cell < this.cells; cell += 1) {
      if (balancing.bleeds[cell] !== 1) continue;
      const cell_V = this.cellVoltage_V(cell);
      const charge_C = (cell_V / balancing.resistance_ohm) * dt_s;
      const before_J = this.#cellEnergy_J(cell);
      stateOfCharges[cell] = stateOfCharges[cell]! - charge_C / this.capacity_C[cell]!;
      const resistor_J = cell_V * charge_C;
      this.bleedHeat_J += resistor_J;
      balancing.charge_C[cell] = balancing.charge_C[cell]! + charge_C;
      this.#heat_J[cell] = this.#heat_J[cell]! + before_J - this.#cellEnergy_J(cell) - resistor_J;
    }
    this.#settle();
  }

  #cellEnergy_J(cell: number): number {
    const share = openCircuitEnergy_V(this.design.curve, this.#stateOfCharges[cell]!);
    return this.capacity_C[cell]! * share;
  }

  #relaxingEnergyPerScale_J(): number {
    return this.#first.energy_J + this.#second.energy_J;
  }

  #openCircuitOf_V(cell: number): number {
    return this.#settled_V[cell]! + this.#slope_V_per_C[cell]! * this.#since_C;
  }

  cellVoltage_V(cell: number): number {
    return this.#openCircuitOf_V(cell) + this.#scale[cell]! * this.#above_V;
  }

  /** Terminal voltage if the current were 0 from this moment on. */
  get restVoltage_V(): number {
    return this.#openCircuit_V + this.#scales * this.#relaxing_V();
  }

  /** By how much a current lifts the terminal voltage at once. */
  get resistance_ohm(): number {
    return this.#scales * this.design.series_ohm;
  }

  /** The mean of the cells, as a display shows it. */
  get stateOfCharge(): number {
    return sum(this.stateOfCharges) / this.cells;
  }

  get hottest_C(): number {
    return this.heat.temperature_C.reduce((a, b) => Math.max(a, b));
  }

  get coldest_C(): number {
    return this.heat.temperature_C.reduce((a, b) => Math.min(a, b));
  }

  /** In the cells (above 0 %) and in the capacitors of their pairs. */
  get storedEnergy_J(): number {
    this.#settle();
    let stored_J = this.#scales * this.#relaxingEnergyPerScale_J();
    for (let cell = 0; cell < this.cells; cell += 1) stored_J += this.#cellEnergy_J(cell);
    return stored_J;
  }

  /** Heat since the last tick, not yet handed to `heat`. */
  get pendingHeat_J(): number {
    return this.#scales * this.#heatPerScale_J;
  }

  /** The current at which the first cell reaches `limit_V`; 0 when one is there already. */
  highestChargeCurrent_A(limit_V: number): number {
    return Math.max(0, this.#currentToReach_A(limit_V, 1));
  }

  /** The same the other way, as a positive number: the current at which the first cell falls to `limit_V`. */
  highestDischargeCurrent_A(limit_V: number): number {
    return Math.max(0, this.#currentToReach_A(limit_V, -1));
  }

  #currentToReach_A(limit_V: number, direction: 1 | -1): number {
    const relaxing_V = this.#relaxing_V();
    let least_A = Infinity;
    for (let cell = 0; cell < this.cells; cell += 1) {
      const scale = this.#scale[cell]!;
      const rest_V = this.#openCircuitOf_V(cell) + scale * relaxing_V;
      const reach_A = (direction * (limit_V - rest_V)) / (scale * this.design.series_ohm);
      if (reach_A < least_A) least_A = reach_A;
    }
    return least_A;
  }
}

/** Draws from a normal distribution (Box and Muller 1958), held to three deviations. */
function deviations(random: (() => number) | undefined): () => number {
  return () => {
    if (random === undefined) throw new RangeError('a spread needs a source of random numbers');
    const radius = Math.sqrt(-2 * Math.log(1 - random()));
    return Math.max(-3, Math.min(3, radius * Math.cos(2 * Math.PI * random())));
  };
}

function sum(values: Float64Array): number {
  let total = 0;
  for (const value of values) total += value;
  return total;
}
