// The current through the resistor of one resistor–capacitor pair. It nears the whole current with the pair's time
// constant (τ·dx/dt = i − x); under a current constant over the step the solution is exact, whatever the step.
//
// step(dt_s, current_A); current_A; and over the last step its integrals charge_C = ∫x dt and squared_A2s = ∫x² dt.
import type { Relaxation } from './cell.ts';

export class RelaxedCurrent {
  current_A = 0;
  charge_C = 0;
  squared_A2s = 0;
  readonly #pair: Relaxation;
  #dt_s = 0;
  #decay = 1;
  /** ∫ of the decaying part and of its square, for a part of 1 A at the start. */
  #decaying_s = 0;
  #decayingSquared_s = 0;

  constructor(pair: Relaxation) {
    this.#pair = pair;
  }

  step(dt_s: number, current_A: number): void {
    if (dt_s !== this.#dt_s) this.#prepare(dt_s);
    const above_A = this.current_A - current_A;
    this.charge_C = current_A * dt_s + above_A * this.#decaying_s;
    this.squared_A2s =
      current_A * current_A * dt_s +
      2 * current_A * above_A * this.#decaying_s +
      above_A * above_A * this.#decayingSquared_s;
    this.current_A = current_A + above_A * this.#decay;
  }

  #prepare(dt_s: number): void {
    const { tau_s } = this.#pair;
    this.#dt_s = dt_s;
    this.#decay = Math.exp(-dt_s / tau_s);
    this.#decaying_s = -tau_s * Math.expm1(-dt_s / tau_s);
    this.#decayingSquared_s = (-tau_s / 2) * Math.expm1((-2 * dt_s) / tau_s);
  }

  /** In the capacitor: ½·C·(R·x)² = ½·τ·R·x². */
  get energy_J(): number {
    const { resistance_ohm, tau_s } = this.#pair;
    return 0.5 * tau_s * resistance_ohm * this.current_A * this.current_A;
  }
}
