// Two capacitors, a resistance between them and one from each to the common rail, currents fed into both: the network
// between a charger and a pack. Time constants reach from microseconds (contacts) to minutes (leaks), so each step is the
// exact solution of the linear network under currents that are constant over it: no step is too long.
//
//   const pair = new RcPair(output_F, inlet_F);
//   pair.prepare(dt_s, leak0_S, link_S, leak1_S);   // cheap when nothing changed; any conductance may be 0
//   pair.rest_V(current1_A), pair.gain_ohm          // node 0 at the end of the step: rest_V + gain_ohm · current0
//   pair.step(current0_A, current1_A);              // then voltage_V (at its end) and mean_V (over it)

/** (1 − e⁻ˣ)/x and (x − 1 + e⁻ˣ)/x², for any x ≥ 0. */
function averaged(x: number): number {
  return x > 0 ? -Math.expm1(-x) / x : 1;
}

function averagedTwice(x: number): number {
  // Below, the difference loses its digits; the series is good to 1e-15 there.
  return x > 1e-2
    ? (1 - averaged(x)) / x
    : 1 / 2 - x * (1 / 6 - x * (1 / 24 - x * (1 / 120 - x / 720 + (x * x) / 5040)));
}

export class RcPair {
  readonly capacitance_F: Float64Array;
  readonly voltage_V = new Float64Array(2);
  readonly mean_V = new Float64Array(2);
  #dt_s = 0;
  #leak0_S = Number.NaN;
  #link_S = Number.NaN;
  #leak1_S = Number.NaN;
  /** What is left of the voltages at the end; what charges add by then; both as means over the step. */
  readonly #left = new Float64Array(4);
  readonly #added = new Float64Array(4);
  readonly #addedMean = new Float64Array(4);

  constructor(first_F: number, second_F: number) {
    if (!(first_F > 0 && second_F > 0)) throw new RangeError('both capacitances must be above 0');
    this.capacitance_F = Float64Array.of(first_F, second_F);
  }

  /**
   * With y = √C·v the network is dy/dt = −M·y + i/√C, M symmetric, so it falls apart into two modes at right angles, each
   * with a rate ≥ 0 of its own.
   */
  prepare(dt_s: number, leak0_S: number, link_S: number, leak1_S: number): void {
    const same = leak0_S === this.#leak0_S && link_S === this.#link_S && leak1_S === this.#leak1_S;
    if (same && dt_s === this.#dt_s) return;
    this.#dt_s = dt_s;
    this.#leak0_S = leak0_S;
    this.#link_S = link_S;
    this.#leak1_S = leak1_S;
    const [first_F, second_F] = this.capacitance_F as unknown as [number, number];
    const m00 = (leak0_S + link_S) / first_F;
    const m11 = (leak1_S + link_S) / second_F;
    const m01 = -link_S / Math.sqrt(first_F * second_F);
    const half = (m00 - m11) / 2;
    const radius = Math.hypot(half, m01);
    const fast = (m00 + m11) / 2 + radius;
    // The product of both rates over the faster one: their difference would lose the slow rate's digits.
    const product = (leak0_S * leak1_S + link_S * (leak0_S + leak1_S)) / (first_F * second_F);
    const slow = fast > 0 ? product / fast : 0;
    // Square of the cosine, and sine times cosine, of the fast mode's direction.
    const cosine2 = radius > 0 ? (1 + half / radius) / 2 : 1;
    const mixed = radius > 0 ? m01 / (2 * radius) : 0;
    const modes = { cosine2, mixed };
    const [x, y] = [fast * dt_s, slow * dt_s];
    this.#fill(this.#left, modes, Math.exp(-x), Math.exp(-y));
    this.#fill(this.#added, modes, dt_s * averaged(x), dt_s * averaged(y));
    this.#fill(this.#addedMean, modes, dt_s * averagedTwice(x), dt_s * averagedTwice(y));
  }

  /** A function of the network from its values for both modes, turned back into voltages. */
  #fill(
    into: Float64Array,
    { cosine2, mixed }: { cosine2: number; mixed: number },
    fast: number,
    slow: number,
  ): void {
    const ratio = Math.sqrt(this.capacitance_F[1]! / this.capacitance_F[0]!);
    into[0] = cosine2 * fast + (1 - cosine2) * slow;
    into[1] = mixed * (fast - slow) * ratio;
    into[2] = (mixed * (fast - slow)) / ratio;
    into[3] = (1 - cosine2) * fast + cosine2 * slow;
  }

  /** Node 0 at the end of the step if nothing is fed into it. */
  rest_V(current1_A: number): number {
    const [v0, v1] = this.voltage_V as unknown as [number, number];
    const left = this.#left;
    return left[0]! * v0 + left[1]! * v1 + (this.#added[1]! * current1_A) / this.capacitance_F[1]!;
  }

  /** What a current fed into node 0 adds to its voltage by the end of the step. */
  get gain_ohm(): number {
    return this.#added[0]! / this.capacitance_F[0]!;
  }

  step(current0_A: number, current1_A: number): void {
    const { voltage_V, mean_V } = this;
    const [v0, v1] = voltage_V as unknown as [number, number];
    const rate0 = current0_A / this.capacitance_F[0]!;
    const rate1 = current1_A / this.capacitance_F[1]!;
    const [left, added, addedMean] = [this.#left, this.#added, this.#addedMean];
    for (let node = 0; node < 2; node += 1) {
      const at = 2 * node;
      voltage_V[node] =
        left[at]! * v0 + left[at + 1]! * v1 + added[at]! * rate0 + added[at + 1]! * rate1;
      mean_V[node] =
        (added[at]! * v0 + added[at + 1]! * v1) / this.#dt_s +
        addedMean[at]! * rate0 +
        addedMean[at + 1]! * rate1;
    }
  }
}
