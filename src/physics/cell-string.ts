// Cells in series, electrically: what a pack is without its heat. Charging current positive.
//
//   const string = new CellString(design, capacity_C, stateOfCharges);
//   string.scale[cell] = …; string.refresh();      // resistances as multiples of the design's
//   string.step(dt_s, current_A);                  // then energy_J and heatPerScale_J of that step
//   string.voltage_V, restVoltage_V, resistance_ohm, highest_V, lowest_V, cellVoltage_V(cell), currentToReach_A(…)
//
// In series all cells share current and time constants. So the pairs of resistor and capacitor are followed once, by the
// current through their resistors, and while every cell stays on its line of the open-circuit curve all voltages are
// linear in the charge that has passed: a step moves a few sums, and only who asks for a cell pays for the cells. They are
// settled (charge handed to each, its line looked up) when one leaves its line. Voltages and charges are those of cells
// stepped one by one.
import type { CellDesign } from './cell.ts';
import { openCircuitEnergy_V } from './open-circuit-voltage.ts';
import { RelaxedCurrent } from './relaxed-current.ts';

export class CellString {
  readonly design: CellDesign;
  readonly capacity_C: Float64Array;
  /** Resistances now as multiples of the design's. */
  readonly scale: Float64Array;
  current_A = 0;
  /** Of the last step: into the terminals, and heat of a cell of scale 1. */
  energy_J = 0;
  heatPerScale_J = 0;

  readonly #first: RelaxedCurrent;
  readonly #second: RelaxedCurrent;
  #scales = 0;
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

  constructor(design: CellDesign, capacity_C: Float64Array, stateOfCharges: Float64Array) {
    const cells = capacity_C.length;
    this.design = design;
    this.capacity_C = capacity_C;
    this.#stateOfCharges = stateOfCharges;
    this.#first = new RelaxedCurrent(design.first);
    this.#second = new RelaxedCurrent(design.second);
    this.scale = new Float64Array(cells).fill(1);
    this.#perCoulomb = new Float64Array(cells);
    this.#settled_V = new Float64Array(cells);
    this.#slope_V_per_C = new Float64Array(cells);
    this.refresh();
  }

  /** Share of the capacity above 0 %, a cell; call refresh() after a change. */
  get stateOfCharges(): Float64Array {
    if (this.#since_C !== 0) this.#settle();
    return this.#stateOfCharges;
  }

  /** After a change to capacity_C, scale or stateOfCharges. */
  refresh(): void {
    let scales = 0;
    for (let cell = 0; cell < this.scale.length; cell += 1) {
      scales += this.scale[cell]!;
      this.#perCoulomb[cell] = 1 / this.capacity_C[cell]!;
    }
    this.#scales = scales;
    this.#settle();
  }

  step(dt_s: number, current_A: number): void {
    const { series_ohm, first, second } = this.design;
    const before_V = this.openCircuit_V;
    const charge_C = current_A * dt_s;
    this.#first.step(dt_s, current_A);
    this.#second.step(dt_s, current_A);
    this.current_A = current_A;
    this.#since_C += charge_C;
    this.#highest_V = Number.NaN;
    if (this.#since_C > this.#roomUp_C || this.#since_C < this.#roomDown_C) this.#settle();
    this.heatPerScale_J =
      series_ohm * current_A * charge_C +
      first.resistance_ohm * this.#first.squared_A2s +
      second.resistance_ohm * this.#second.squared_A2s;
    const pairs_Vs =
      first.resistance_ohm * this.#first.charge_C + second.resistance_ohm * this.#second.charge_C;
    this.energy_J =
      (charge_C * (before_V + this.openCircuit_V)) / 2 +
      current_A * this.#scales * (series_ohm * charge_C + pairs_Vs);
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
      const percent_C = capacity_C[cell]! / 100;
      const up_C = (line + 1 - percent) * percent_C;
      const down_C = (line - percent) * percent_C;
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
    const { scale } = this;
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

  get highest_V(): number {
    if (Number.isNaN(this.#highest_V)) this.#findExtremes();
    return this.#highest_V;
  }

  get lowest_V(): number {
    if (Number.isNaN(this.#highest_V)) this.#findExtremes();
    return this.#lowest_V;
  }

  get openCircuit_V(): number {
    return this.#settledSum_V + this.#slopeSum_V_per_C * this.#since_C;
  }

  get voltage_V(): number {
    return this.openCircuit_V + this.#scales * this.#above_V;
  }

  /** Terminal voltage if the current were 0 from this moment on. */
  get restVoltage_V(): number {
    return this.openCircuit_V + this.#scales * this.#relaxing_V;
  }

  /** By how much a current lifts the terminal voltage at once. */
  get resistance_ohm(): number {
    return this.#scales * this.design.series_ohm;
  }

  get scales(): number {
    return this.#scales;
  }

  /** What the current and the pairs add to the voltage of a cell of scale 1; and what the pairs alone add. */
  get #above_V(): number {
    return this.design.series_ohm * this.current_A + this.#relaxing_V;
  }

  get #relaxing_V(): number {
    const { first, second } = this.design;
    return (
      first.resistance_ohm * this.#first.current_A + second.resistance_ohm * this.#second.current_A
    );
  }

  /** In the capacitors of a cell of scale 1. */
  get relaxingPerScale_J(): number {
    return this.#first.energy_J + this.#second.energy_J;
  }

  #openCircuitOf_V(cell: number): number {
    return this.#settled_V[cell]! + this.#slope_V_per_C[cell]! * this.#since_C;
  }

  cellVoltage_V(cell: number): number {
    return this.#openCircuitOf_V(cell) + this.scale[cell]! * this.#above_V;
  }

  /** Chemical, above 0 %. */
  cellEnergy_J(cell: number): number {
    const stateOfCharge = this.#stateOfCharges[cell]! + this.#since_C * this.#perCoulomb[cell]!;
    return this.capacity_C[cell]! * openCircuitEnergy_V(this.design.curve, stateOfCharge);
  }

  /** The current at which the first cell meets `limit_V`: 1 upwards by charging, −1 downwards; negative past it. */
  currentToReach_A(limit_V: number, direction: 1 | -1): number {
    const relaxing_V = this.#relaxing_V;
    let least_A = Infinity;
    for (let cell = 0; cell < this.scale.length; cell += 1) {
      const scale = this.scale[cell]!;
      const rest_V = this.#openCircuitOf_V(cell) + scale * relaxing_V;
      const reach_A = (direction * (limit_V - rest_V)) / (scale * this.design.series_ohm);
      if (reach_A < least_A) least_A = reach_A;
    }
    return least_A;
  }
}
