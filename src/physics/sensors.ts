// Temperature sensors: their resistance, what follows from it, and the time they take.
//
//   pt1000_ohm(C), pt1000_C(ohm); ntc_ohm(C), ntc_C(ohm)
//   const sensors = new TemperatureSensors(places, lag_s, start_C); sensors.step(dt_s, temperatures_C);
//   sensors.reading_C[i], hottest_C, coldest_C
import { ZERO_CELSIUS_K } from './cell.ts';

/** Callendar and Van Dusen, IEC 60751 (from memory); the third counts below 0 °C only. */
const A = 3.9083e-3;
const B = -5.775e-7;
const C = -4.183e-12;
const PT_ohm = 1000;

export function pt1000_ohm(temperature_C: number): number {
  const t = temperature_C;
  const below = t < 0 ? C * (t - 100) * t ** 3 : 0;
  return PT_ohm * (1 + A * t + B * t * t + below);
}

/** The inverse; from −200 °C on. Below 0 °C it takes a few of Newton's steps. */
export function pt1000_C(resistance_ohm: number): number {
  const quadratic_C = (-A + Math.sqrt(A * A - 4 * B * (1 - resistance_ohm / PT_ohm))) / (2 * B);
  if (resistance_ohm >= PT_ohm) return quadratic_C;
  let t = quadratic_C;
  for (let step = 0; step < 4; step += 1) {
    const slope = PT_ohm * (A + 2 * B * t + C * (4 * t ** 3 - 300 * t * t));
    t -= (pt1000_ohm(t) - resistance_ohm) / slope;
  }
  return t;
}

/** A usual NTC: 10 kΩ at 25 °C, beta 3435 K (from memory). */
const NTC_ohm = 10_000;
const NTC_BETA_K = 3435;
const NTC_REFERENCE_K = 298.15;

export function ntc_ohm(temperature_C: number): number {
  const inverse = 1 / (temperature_C + ZERO_CELSIUS_K) - 1 / NTC_REFERENCE_K;
  return NTC_ohm * Math.exp(NTC_BETA_K * inverse);
}

export function ntc_C(resistance_ohm: number): number {
  const inverse = 1 / NTC_REFERENCE_K + Math.log(resistance_ohm / NTC_ohm) / NTC_BETA_K;
  return 1 / inverse - ZERO_CELSIUS_K;
}

/** Sensors at a few places of many, each behind the same lag: a pack has several, never one a cell (common practice). */
export class TemperatureSensors {
  readonly reading_C: Float64Array;
  readonly #places: readonly number[];
  readonly #lag_s: number;

  constructor(places: readonly number[], lag_s: number, start_C: number) {
    if (places.length === 0) throw new RangeError('no sensor, no reading');
    this.reading_C = new Float64Array(places.length).fill(start_C);
    this.#places = places;
    this.#lag_s = lag_s;
  }

  step(dt_s: number, temperature_C: Float64Array): void {
    const share = -Math.expm1(-dt_s / this.#lag_s);
    for (let i = 0; i < this.#places.length; i += 1) {
      const there_C = temperature_C[this.#places[i]!]!;
      this.reading_C[i] = this.reading_C[i]! + (there_C - this.reading_C[i]!) * share;
    }
  }

  get hottest_C(): number {
    return this.reading_C.reduce((a, b) => Math.max(a, b));
  }

  get coldest_C(): number {
    return this.reading_C.reduce((a, b) => Math.min(a, b));
  }
}
