// An insulation monitor that switches one known resistor between each rail and earth in turn, waits until the Y-capacitors
// have settled, and solves for both rails (isolation.ts, bridgeResistances_ohm). It reports them in parallel.
//
//   const monitor = new IsolationMonitor(path, { known_ohm, largestY_F });
//   monitor.step(dt_s, rails_V);     // beside path.step; resistance_ohm is the last result, null before the first
//   monitor.restart();               // a new measurement from the beginning
import { bridgeResistances_ohm, parallel_ohm, settling_s } from './isolation.ts';
import type { IsolationPath } from './isolation-path.ts';

export interface MonitorOptions {
  readonly known_ohm: number;
  /** The largest Y-capacitance of both rails it is made for; with more its readings have not settled, and err. */
  readonly largestY_F: number;
}

/** Below, its readings drown. Our choice. */
const LEAST_V = 20;
/** Readings that differ less than this share of the rails' voltage tell nothing of the rails: a short to earth. Our choice. */
const LEAST_SWING = 1e-6;

export class IsolationMonitor {
  resistance_ohm: number | null = null;
  readonly #path: IsolationPath;
  readonly #known_ohm: number;
  readonly #wait_s: number;
  #elapsed_s = 0;
  /** Of the first of both readings, as a share of the rails' voltage; null while it is taken. */
  #first: number | null = null;

  constructor(path: IsolationPath, { known_ohm, largestY_F }: MonitorOptions) {
    this.#path = path;
    this.#known_ohm = known_ohm;
    // The rails' own resistances lie beside the known one and only make it faster.
    this.#wait_s = settling_s([known_ohm], largestY_F);
    this.restart();
  }

  restart(): void {
    this.resistance_ohm = null;
    this.#begin();
  }

  #begin(): void {
    this.#elapsed_s = 0;
    this.#first = null;
    this.#path.knownOnPositive_S = 1 / this.#known_ohm;
    this.#path.knownOnNegative_S = 0;
  }

  step(dt_s: number, rails_V: number): void {
    if (rails_V < LEAST_V) {
      this.#begin();
      return;
    }
    this.#elapsed_s += dt_s;
    if (this.#elapsed_s < this.#wait_s) return;
    const share = this.#path.negative_V / rails_V;
    if (this.#first === null) {
      this.#first = share;
      this.#elapsed_s = 0;
      this.#path.knownOnPositive_S = 0;
      this.#path.knownOnNegative_S = 1 / this.#known_ohm;
      return;
    }
    this.resistance_ohm = this.#solve(this.#first, share);
    this.#begin();
  }

  #solve(knownOnPositive_V: number, knownOnNegative_V: number): number {
    if (knownOnPositive_V - knownOnNegative_V < LEAST_SWING) return 0;
    const { positive_ohm, negative_ohm } = bridgeResistances_ohm({
      pack_V: 1,
      knownOnPositive_V,
      knownOnNegative_V,
      known_ohm: this.#known_ohm,
    });
    return parallel_ohm(positive_ohm, negative_ohm);
  }
}
