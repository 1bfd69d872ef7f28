// Heat of a pack: every cell a lump that gives its heat to a coolant, the coolant a lump that is renewed from its inlet.
//
// heat.step(dt_s, heat_J) takes what each cell made in that time; temperature_C, coolant_C, and the books storedHeat_J,
// carriedAway_J, made_J. Exact exponentials for each lump while its neighbour stands still: stable at any step, and what
// one loses the other gets, so the books close at any step.

export interface CoolingOptions {
  /** From each cell to the coolant. Our choice: 1 W/K cools a 60 Ah cell with a time constant of 15 minutes. */
  readonly perCell_W_per_K?: number;
  readonly coolantHeatCapacity_J_per_K?: number;
  /** Flow times specific heat; 0 is a pump that stands still. */
  readonly flow_W_per_K?: number;
  readonly inlet_C?: number;
}

export class PackHeat {
  readonly temperature_C: Float64Array;
  coolant_C: number;
  inlet_C: number;
  flow_W_per_K: number;
  /** Made by the cells, and carried away by the flow, since the start. */
  made_J = 0;
  carriedAway_J = 0;
  readonly #cell_J_per_K: number;
  readonly #perCell_W_per_K: number;
  readonly #coolant_J_per_K: number;

  constructor(cells: number, cell_J_per_K: number, start_C: number, options: CoolingOptions = {}) {
    this.temperature_C = new Float64Array(cells).fill(start_C);
    this.#cell_J_per_K = cell_J_per_K;
    this.#perCell_W_per_K = options.perCell_W_per_K ?? 1;
    // Our choice: about 5 kg of water and glycol at 3.6 kJ/(kg·K), ten litres a minute of it.
    this.#coolant_J_per_K = options.coolantHeatCapacity_J_per_K ?? 18_000;
    this.flow_W_per_K = options.flow_W_per_K ?? 600;
    this.inlet_C = options.inlet_C ?? start_C;
    this.coolant_C = this.inlet_C;
  }

  /** Heat in the cells and the coolant, counted from 0 °C. */
  get storedHeat_J(): number {
    let sum_C = 0;
    for (const temperature_C of this.temperature_C) sum_C += temperature_C;
    return sum_C * this.#cell_J_per_K + this.coolant_C * this.#coolant_J_per_K;
  }

  step(dt_s: number, heat_J: Float64Array): void {
    const toCoolant_J = this.#cellsToCoolant_J(dt_s, heat_J);
    const warmed_C = this.coolant_C + toCoolant_J / this.#coolant_J_per_K;
    const share = -Math.expm1((-this.flow_W_per_K * dt_s) / this.#coolant_J_per_K);
    const away_C = (warmed_C - this.inlet_C) * share;
    this.coolant_C = warmed_C - away_C;
    this.carriedAway_J += away_C * this.#coolant_J_per_K;
  }

  /**
   * A cell under constant power nears coolant + power/conductance. With x = conductance·dt/capacity its temperature
   * rises by (1 − e⁻ˣ)·(coolant − temperature) + heat/capacity·(1 − e⁻ˣ)/x.
   */
  #cellsToCoolant_J(dt_s: number, heat_J: Float64Array): number {
    const { temperature_C, coolant_C } = this;
    const cell_J_per_K = this.#cell_J_per_K;
    const x = (this.#perCell_W_per_K * dt_s) / cell_J_per_K;
    const share = -Math.expm1(-x);
    const kept = x > 0 ? share / x : 1;
    let made_J = 0;
    let rise_C = 0;
    for (let cell = 0; cell < temperature_C.length; cell += 1) {
      const cellHeat_J = heat_J[cell]!;
      const change_C =
        share * (coolant_C - temperature_C[cell]!) + (kept * cellHeat_J) / cell_J_per_K;
      temperature_C[cell] = temperature_C[cell]! + change_C;
      made_J += cellHeat_J;
      rise_C += change_C;
    }
    this.made_J += made_J;
    return made_J - rise_C * cell_J_per_K;
  }
}
