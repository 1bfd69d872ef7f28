// The set of states a side may be in, with the time each timer may run out. A capture's times are the recorder's, so a
// timer has a tolerance; a choice made unseen between two messages gives a span instead of an instant.
import type { MachineEvent, Send } from '../machine/convention.ts';
import type { Stepper, Timer } from '../machine/step.ts';
import { fits, STARTED_BETWEEN, STARTED_NOW, type Path, type Paths } from './follow-paths.ts';

/**
 * How far a recorded interval may be off the side's own: 50 ms for the recorder's and the stack's delay at both ends,
 * and 1 % for two clocks that run apart. Our choice.
 */
const TOLERANCE_MS = 50;
const TOLERANCE_RATIO = 0.01;

export function tolerance_ns(ms: number): number {
  return (TOLERANCE_MS + ms * TOLERANCE_RATIO) * 1e6;
}

/** One state the side may be in. */
export interface Guess {
  readonly state: number;
  /** Messages it has decided to send and not sent yet. */
  readonly owes: readonly Send[];
  /** When each timer of the state runs out, at the earliest and at the latest, in ns. */
  readonly from_ns: number[];
  readonly to_ns: number[];
  /** The timer whose end this guess has overrun; such guesses explain only why a message is excluded. */
  readonly overran: Overrun | null;
}

export interface Overrun {
  readonly timer: Timer;
  /** When it ran out, at the latest. */
  readonly due_ns: number;
}

const NOTHING: readonly Send[] = Object.freeze([]);

/** Guesses by state: two ways to the same state are one guess with the wider spans. */
export class GuessSet {
  private readonly byState = new Map<number, Guess>();
  private readonly owing: Guess[] = [];

  get size(): number {
    return this.byState.size + this.owing.length;
  }

  [Symbol.iterator](): Iterator<Guess> {
    // Hardly ever does a side owe a message: no list is made then.
    if (this.owing.length === 0) return this.byState.values();
    return [...this.byState.values(), ...this.owing].values();
  }

  /** The guess now kept, if this one added anything to what was known; else null. */
  add(guess: Guess): Guess | null {
    if (guess.owes.length > 0) {
      this.owing.push(guess);
      return guess;
    }
    const known = this.byState.get(guess.state);
    if (known === undefined) {
      this.byState.set(guess.state, guess);
      return guess;
    }
    let wider = false;
    for (let i = 0; i < known.from_ns.length; i++) {
      wider ||= guess.from_ns[i]! < known.from_ns[i]! || guess.to_ns[i]! > known.to_ns[i]!;
      known.from_ns[i] = Math.min(known.from_ns[i]!, guess.from_ns[i]!);
      known.to_ns[i] = Math.max(known.to_ns[i]!, guess.to_ns[i]!);
    }
    return wider ? known : null;
  }
}

export class Guesses {
  private readonly stepper: Stepper;
  private readonly paths: Paths;

  constructor(stepper: Stepper, paths: Paths) {
    this.stepper = stepper;
    this.paths = paths;
  }

  /** A state of which nothing is known but that it is possible. */
  anyTime(state: number): Guess {
    const { length } = this.stepper.view(state).timers;
    return {
      state,
      owes: NOTHING,
      from_ns: Array<number>(length).fill(-Infinity),
      to_ns: Array<number>(length).fill(Infinity),
      overran: null,
    };
  }

  /** A state entered at a known time. */
  fresh(state: number, at_ns: number): Guess {
    const due = this.stepper.view(state).timers.map(({ ms }) => at_ns + ms * 1e6);
    return { state, owes: NOTHING, from_ns: due, to_ns: [...due], overran: null };
  }

  /** The guess at the end of a path taken between `before_ns` and `at_ns`, its last step at `at_ns`. */
  along(guess: Guess, path: Path, before_ns: number, at_ns: number): Guess {
    const { timers } = this.stepper.view(path.next);
    // Made at their length: a list that grows takes far more room than the few timers of a state.
    const from_ns = Array<number>(timers.length);
    const to_ns = Array<number>(timers.length);
    for (let i = 0; i < timers.length; i++) {
      const place = path.timers[i]!;
      const length_ns = timers[i]!.ms * 1e6;
      if (place >= 0) {
        from_ns[i] = guess.from_ns[place]!;
        to_ns[i] = guess.to_ns[place]!;
      } else {
        from_ns[i] = (place === STARTED_NOW ? at_ns : before_ns) + length_ns;
        to_ns[i] = at_ns + length_ns;
      }
    }
    const { overran } = guess;
    return { state: path.next, owes: path.owes, from_ns, to_ns, overran };
  }

  /**
   * Lets time pass to `at_ns`: timers that may have run out also fire; a guess whose timer must have run out goes to
   * `late`.
   */
  pass(set: GuessSet, before_ns: number, at_ns: number, late: GuessSet): GuessSet {
    if (!this.anyMayFire(set, at_ns)) return set;
    const open: Guess[] = [];
    const seen = new GuessSet();
    const enter = (guess: Guess): void => {
      const kept = seen.add(guess);
      if (kept !== null) open.push(kept);
    };
    for (const guess of set) {
      if (guess.owes.length > 0) enter(guess);
      else
        for (const path of this.paths.quiet(guess.state))
          enter(this.along(guess, path, before_ns, at_ns));
    }
    for (let guess = open.pop(); guess !== undefined; guess = open.pop()) {
      this.fire(guess, at_ns, enter);
    }
    const kept = new GuessSet();
    for (const guess of seen) {
      const overran = this.overrun(guess, at_ns);
      if (overran === null) kept.add(guess);
      else late.add({ ...guess, overran });
    }
    return kept;
  }

  private anyMayFire(set: GuessSet, at_ns: number): boolean {
    for (const guess of set) if (this.mayFire(guess, at_ns)) return true;
    return false;
  }

  private mayFire(guess: Guess, at_ns: number): boolean {
    const { timers } = this.stepper.view(guess.state);
    return timers.some(({ ms }, i) => guess.from_ns[i]! - tolerance_ns(ms) <= at_ns);
  }

  private fire(guess: Guess, at_ns: number, enter: (fired: Guess) => void): void {
    const { timers } = this.stepper.view(guess.state);
    timers.forEach(({ event, ms }, i) => {
      if (guess.from_ns[i]! - tolerance_ns(ms) > at_ns) return;
      const path = this.paths.one(guess.state, event);
      const when_ns = Math.min(at_ns, guess.to_ns[i]!);
      const between = path.timers.map((place) => (place === STARTED_NOW ? STARTED_BETWEEN : place));
      const from_ns = Math.min(when_ns, guess.from_ns[i]!);
      enter(this.along(guess, { ...path, timers: between }, from_ns, when_ns));
    });
  }

  private overrun(guess: Guess, at_ns: number): Overrun | null {
    const { timers } = this.stepper.view(guess.state);
    const i = timers.findIndex(({ ms }, k) => guess.to_ns[k]! + tolerance_ns(ms) < at_ns);
    return i < 0 ? null : { timer: timers[i]!, due_ns: guess.to_ns[i]! };
  }

  /** Guesses after the side itself sent `event`; empty when none could. */
  sent(set: GuessSet, event: MachineEvent, before_ns: number, at_ns: number): GuessSet {
    const next = new GuessSet();
    for (const guess of set) {
      if (guess.owes.length > 0) {
        if (fits(guess.owes[0]!, event)) next.add({ ...guess, owes: guess.owes.slice(1) });
        continue;
      }
      for (const path of this.paths.sends(guess.state, event)) {
        next.add(this.along(guess, path, before_ns, at_ns));
      }
    }
    return next;
  }

  /** Guesses after the side received `event`; one that has still to send something keeps to it. */
  received(set: GuessSet, event: MachineEvent, before_ns: number, at_ns: number): GuessSet {
    const next = new GuessSet();
    for (const guess of set) {
      if (guess.owes.length > 0) next.add(guess);
      else {
        for (const path of this.paths.receives(guess.state, event)) {
          next.add(this.along(guess, path, before_ns, at_ns));
        }
      }
    }
    return next;
  }
}
