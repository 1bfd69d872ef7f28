// A contactor: it takes its time, bounces when it closes, burns when it opens under current, and welds.
//
//   contactor.command('closed' | 'open');
//   contactor.step(dt_s);            // then conducts, touches (contacts made in this step), parts (parted in this step)
//   contactor.strike(i2t_A2s);       // for each touch: the I²t of what rushed in
//   contactor.arc(current_A, loop_V) // when it parted under current
//   contactor.weld(), stick(), loosen() for faults; welded, stuck, wear (1 is the end)
//
// Wear counts shares of the life (Miner's rule). What the datasheet says of life, in figures: 50,000 closings on a
// capacitor at 90 % pre-charge of 320 V, 50 at 80 % (public datasheet of a 400 A contactor, confirmed).

export interface ContactorDesign {
  /** From the command to the first touch, then bouncing, and from the command to parting. */
  readonly operate_s: number;
  readonly bounce_s: number;
  readonly release_s: number;
  readonly resistance_ohm: number;
}

/** 25 ms to operate, 7 ms of it bouncing, 12 ms to release, 60 mV at 200 A: each the datasheet's worst (confirmed). */
export const CONTACTOR_400_A: ContactorDesign = {
  operate_s: 0.018,
  bounce_s: 0.007,
  release_s: 0.012,
  resistance_ohm: 0.3e-3,
};

/**
 * I²t of a closing at 80 % of 320 V: 64 V onto 500 µF through 20 mΩ. The datasheet does not name its load; this one is our
 * choice.
 */
const STRIKE_A2s = (500e-6 * 64 ** 2) / (2 * 20e-3);
const STRIKE_LIFE = 50;
/** A thousandth of the life for four times the I²t (twice the voltage): the exponent between the datasheet's two points. */
const STRIKE_EXPONENT = Math.log(50_000 / 50) / Math.log(4);

/** One opening at 2000 A, 320 V is its last (datasheet, confirmed). */
const LARGEST_BREAK_A = 2000;
const LARGEST_BREAK_V = 320;
/** How long the arc grows until its voltage is that of the loop, and how its energy ages the contacts. Our choices. */
const ARC_s = 0.005;
const ARC_EXPONENT = 2;

/** Shares of the bouncing time spent in the air: two rebounds, the second a third as long. Our choice. */
const REBOUNDS: readonly (readonly [number, number])[] = [
  [1 / 7, 4 / 7],
  [5 / 7, 6 / 7],
];

/**
 * Heat of an arc whose voltage grows steadily to the loop's, in a loop of resistance: the current falls as the arc's
 * voltage rises, ∫ U·(t/T)·I·(1 − t/T) dt = U·I·T/6. A bound where the loop's inductance is small.
 */
export function arcEnergy_J(current_A: number, loop_V: number, arc_s: number = ARC_s): number {
  return (Math.abs(current_A * loop_V) * arc_s) / 6;
}

export class Contactor {
  readonly design: ContactorDesign;
  commanded: 'open' | 'closed' = 'open';
  conducts = false;
  touches = 0;
  parts = false;
  welded = false;
  stuck = false;
  wear = 0;
  arcHeat_J = 0;
  #sinceCommand_s = 0;
  #moved = true;

  constructor(design: ContactorDesign = CONTACTOR_400_A) {
    this.design = design;
  }

  command(to: 'open' | 'closed'): void {
    if (to === this.commanded) return;
    this.commanded = to;
    this.#sinceCommand_s = 0;
    this.#moved = false;
  }

  step(dt_s: number): void {
    this.touches = 0;
    this.parts = false;
    if (this.#moved) return;
    const before_s = this.#sinceCommand_s;
    this.#sinceCommand_s += dt_s;
    if (this.welded || this.stuck) return;
    if (this.commanded === 'open') this.#release();
    else this.#close(before_s);
  }

  #release(): void {
    if (this.#sinceCommand_s < this.design.release_s) return;
    this.parts = this.conducts;
    this.conducts = false;
    this.#moved = true;
  }

  #close(before_s: number): void {
    const { operate_s, bounce_s } = this.design;
    const now_s = this.#sinceCommand_s;
    const passed = (at_s: number): boolean => before_s < at_s && at_s <= now_s;
    if (passed(operate_s)) this.touches += 1;
    let air = now_s < operate_s;
    for (const [from, to] of REBOUNDS) {
      const back_s = operate_s + to * bounce_s;
      if (passed(back_s)) this.touches += 1;
      if (now_s >= operate_s + from * bounce_s && now_s < back_s) air = true;
    }
    this.conducts = !air;
    this.#moved = now_s >= operate_s + bounce_s;
  }

  /** What rushed in when the contacts touched. */
  strike(i2t_A2s: number): void {
    this.#age((i2t_A2s / STRIKE_A2s) ** STRIKE_EXPONENT / STRIKE_LIFE);
  }

  /** An opening that is the last leaves the contacts molten together. */
  arc(current_A: number, loop_V: number): void {
    const heat_J = arcEnergy_J(current_A, loop_V);
    this.arcHeat_J += heat_J;
    this.#age((heat_J / arcEnergy_J(LARGEST_BREAK_A, LARGEST_BREAK_V)) ** ARC_EXPONENT);
  }

  #age(share: number): void {
    this.wear += share;
    if (this.wear >= 1) this.weld();
  }

  /** Closed for good, whatever is commanded. */
  weld(): void {
    this.welded = true;
    this.conducts = true;
  }

  /** Stays as it is, whatever is commanded. */
  stick(): void {
    this.stuck = true;
  }

  loosen(): void {
    this.stuck = false;
    this.welded = false;
    this.#sinceCommand_s = 0;
    this.#moved = false;
  }
}
