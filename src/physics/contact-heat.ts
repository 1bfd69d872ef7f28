// Heating of a connector's contacts: the rise over the ambient nears what the current makes it, with one time constant.
//
//   const contacts = new ContactHeat({ rated_A, ambient_C });
//   contacts.step(dt_s, current_A); contacts.temperature_C
//   deratingFactor(temperature_C), currentFactor(ambient_C), timeToReach_s(…): how much current is left, and for how long

/** Allowed rise of terminals in the type test of couplers (from memory). */
const RATED_RISE_K = 50;
/** First order; minutes are usual (from memory). */
const TIME_CONSTANT_s = 600;
/** Where derating starts, and where charging stops: 40 °C ambient and the allowed rise (from memory). */
const DERATING_C = 85;
export const HIGHEST_CONTACT_C = 90;

export interface ContactOptions {
  /** The current that heats the contacts by the rated rise in the end. */
  readonly rated_A: number;
  readonly ambient_C: number;
  readonly ratedRise_K?: number;
  readonly timeConstant_s?: number;
}

export class ContactHeat {
  ambient_C: number;
  rise_K = 0;
  /** A worn contact makes more heat of the same current. */
  resistanceFactor = 1;
  readonly #perSquare_K: number;
  readonly #timeConstant_s: number;

  constructor(options: ContactOptions) {
    const { rated_A, ratedRise_K = RATED_RISE_K, timeConstant_s = TIME_CONSTANT_s } = options;
    this.ambient_C = options.ambient_C;
    this.#perSquare_K = ratedRise_K / (rated_A * rated_A);
    this.#timeConstant_s = timeConstant_s;
  }

  get temperature_C(): number {
    return this.ambient_C + this.rise_K;
  }

  step(dt_s: number, current_A: number): void {
    const final_K = this.#perSquare_K * current_A * current_A * this.resistanceFactor;
    this.rise_K = final_K + (this.rise_K - final_K) * Math.exp(-dt_s / this.#timeConstant_s);
  }
}

/** 1 up to where derating starts, then straight down to 0 at the highest temperature. */
export function deratingFactor(
  temperature_C: number,
  start_C: number = DERATING_C,
  stop_C: number = HIGHEST_CONTACT_C,
): number {
  return Math.max(0, Math.min(1, (stop_C - temperature_C) / (stop_C - start_C)));
}

/** What may flow for good of the rated current, the rise going with its square. */
export function currentFactor(ambient_C: number, ratedRise_K: number = RATED_RISE_K): number {
  return Math.sqrt(Math.max(0, HIGHEST_CONTACT_C - ambient_C) / ratedRise_K);
}

/** From the ambient until `limit_K` above it, at a current that ends at `final_K`; never is Infinity. */
export function timeToReach_s(
  limit_K: number,
  final_K: number,
  timeConstant_s: number = TIME_CONSTANT_s,
): number {
  return final_K > limit_K ? -timeConstant_s * Math.log1p(-limit_K / final_K) : Infinity;
}

/** Heat of a contact or a cable. */
export function loss_W(resistance_ohm: number, current_A: number): number {
  return resistance_ohm * current_A * current_A;
}
