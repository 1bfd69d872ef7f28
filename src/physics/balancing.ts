// Passive balancing: a resistor across each cell that stands above the lowest one burns its surplus.
//
// new PassiveBalancing({ resistance_ohm: 33 }) is handed to a Pack, which asks it every tick and books the charge in
// charge_C, a cell; `on` switches the whole of it.

export interface BalancingOptions {
  /** Usual are 10 to 100 Ω (from memory). */
  readonly resistance_ohm: number;
  /** A cell bleeds while it stands this far above the lowest. Our choice; finer than most meters of cells is no use. */
  readonly window_V?: number;
}

interface Cells {
  readonly cells: number;
  readonly lowestCell_V: number;
  cellVoltage_V(cell: number): number;
}

export class PassiveBalancing {
  readonly resistance_ohm: number;
  on = true;
  /** 1 for a cell that bleeds now. */
  bleeds = new Uint8Array(0);
  /** Through each cell's resistor since the start. */
  charge_C = new Float64Array(0);
  readonly #window_V: number;
  #odd = 0;

  constructor({ resistance_ohm, window_V = 0.005 }: BalancingOptions) {
    if (!(resistance_ohm > 0)) throw new RangeError(`a bleed of ${resistance_ohm} Ω is none`);
    this.resistance_ohm = resistance_ohm;
    this.#window_V = window_V;
  }

  /** Even and odd cells take turns: neighbours share a pin and cannot bleed together at full current (from memory). */
  choose(pack: Cells): void {
    if (this.bleeds.length !== pack.cells) {
      this.bleeds = new Uint8Array(pack.cells);
      this.charge_C = new Float64Array(pack.cells);
    }
    const threshold_V = pack.lowestCell_V + this.#window_V;
    this.#odd = 1 - this.#odd;
    for (let cell = 0; cell < pack.cells; cell += 1) {
      const turn = cell % 2 === this.#odd;
      this.bleeds[cell] = this.on && turn && pack.cellVoltage_V(cell) > threshold_V ? 1 : 0;
    }
  }
}

/** How long a resistor takes to burn `share` of a cell's capacity at a constant current. */
export function balancingTime_s(share: number, capacity_C: number, bleed_A: number): number {
  return (share * capacity_C) / bleed_A;
}
