// The way from both rails of a d.c. circuit to protective earth: a resistance and a Y-capacitor on each side. What a
// voltmeter between a pole and earth reads follows from it, and takes its time.
//
//   const path = new IsolationPath({ positive_ohm, negative_ohm, yPositive_F, yNegative_F });
//   path.positive_ohm = 60e3;              // faults and drift: change it at any time
//   path.knownOnPositive_S = 1 / 200e3;    // a known resistor switched beside a rail, 0 for none
//   path.step(dt_s, rails_V);              // exact at any step while the rails' voltage is constant over it
//   path.negative_V, positive_V (each pole to earth), parallel_ohm, yEnergy_J
import { parallel_ohm } from './isolation.ts';

export interface IsolationOptions {
  readonly positive_ohm: number;
  readonly negative_ohm: number;
  readonly yPositive_F: number;
  readonly yNegative_F: number;
}

export class IsolationPath {
  positive_ohm: number;
  negative_ohm: number;
  readonly yPositive_F: number;
  readonly yNegative_F: number;
  knownOnPositive_S = 0;
  knownOnNegative_S = 0;
  /** Earth above the negative rail, and the positive rail above earth. */
  negative_V = 0;
  positive_V = 0;

  constructor(options: IsolationOptions) {
    this.positive_ohm = options.positive_ohm;
    this.negative_ohm = options.negative_ohm;
    this.yPositive_F = options.yPositive_F;
    this.yNegative_F = options.yNegative_F;
  }

  get parallel_ohm(): number {
    return parallel_ohm(this.positive_ohm, this.negative_ohm);
  }

  get yEnergy_J(): number {
    return (this.yPositive_F * this.positive_V ** 2 + this.yNegative_F * this.negative_V ** 2) / 2;
  }

  step(dt_s: number, rails_V: number): void {
    const positive_S = 1 / this.positive_ohm + this.knownOnPositive_S;
    const negative_S = 1 / this.negative_ohm + this.knownOnNegative_S;
    const all_S = positive_S + negative_S;
    const all_F = this.yPositive_F + this.yNegative_F;
    const change_V = rails_V - this.positive_V - this.negative_V;
    const settled_V = all_S > 0 ? (rails_V * positive_S) / all_S : this.negative_V;
    if (all_F > 0) {
      // The rails' voltage moved: the capacitors divide it at once, then the resistances take over.
      const divided_V = this.negative_V + (change_V * this.yPositive_F) / all_F;
      const left = Math.exp((-dt_s * all_S) / all_F);
      this.negative_V = all_S > 0 ? settled_V + (divided_V - settled_V) * left : divided_V;
    } else this.negative_V = settled_V;
    this.positive_V = rails_V - this.negative_V;
  }
}
