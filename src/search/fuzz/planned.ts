// A machine under a plan: a side that goes on for as long as its machine lets it, except where the plan departs from
// that. All it does, its machine allows; what stops it is the machine, never the prudence of whoever drives it.
import type { SideMachine } from '../../machine/convention.ts';
import { MachineSide, type OnStep } from '../../simulate/machine-side.ts';
import { createRandom } from '../../simulate/random.ts';
import type { Choice, Situation, Strategy } from '../../simulate/strategy.ts';
import type { Side as SideName } from '../../trace/observation.ts';
import type { Director } from './director.ts';
import { ordinaryControl } from './ordinary.ts';
import { PlannedControl, type Mood } from './planned-control.ts';
import { picked } from './words.ts';

/** `session`: from 0. */
export function plannedSide(
  machine: SideMachine,
  director: Director,
  session: number,
  onStep: OnStep,
): MachineSide {
  const { side } = machine;
  const usual = ordinaryControl(side, director.plan, session);
  const mood: Mood = { asked: false };
  return new MachineSide({
    machine,
    control: (senses) => new PlannedControl(usual(senses), side, director, mood),
    strategy: (habits) => new PlannedStrategy(habits, side, director, mood),
    random: createRandom(session),
    onStep,
  });
}

/** Facts of a choice that are no reading of a sensor. */
const FREE_FACTS = ['demand', 'isolation', 'status', 'notification', 'code'] as const;
const DEMANDS = 'choose.next';
const STOPS = 'choose.stop';
const CHARGES = 'energy transfer';
/**
 * The one delay that stands for a current the machine does not know. Here the current is known, and the stop is due when
 * it has had 1 s and its fall at 100 A/s (IEC 61851-23 101.2.1), with 100 ms to spare.
 */
const STOP_TIMER = 'EV_Stop_Request_End';
const stopDue_ns = (current_A: number): number => 0.9e9 + Math.max(0, current_A) * 1e7;

class PlannedStrategy implements Strategy {
  readonly #habits: Strategy;
  readonly #side: SideName;
  readonly #director: Director;
  readonly #mood: Mood;
  /** Which entry into a state the decision is about; every entry draws another number. */
  #entered = NaN;
  #choice: Choice | null = null;
  #demands = 0;
  /** Asked to stop: when the stop is due. */
  #due_ns: number | null = null;

  constructor(habits: Strategy, side: SideName, director: Director, mood: Mood) {
    this.#habits = habits;
    this.#side = side;
    this.#director = director;
    this.#mood = mood;
  }

  choose(situation: Situation): Choice | null {
    this.#feel(situation);
    const usual = this.#usual(situation);
    if (usual === null) return null;
    if (situation.random !== this.#entered) this.#decide(situation, usual);
    const choice = this.#inTime(situation, this.#choice ?? usual);
    if (choice.at_ns > situation.at_ns) return choice;
    // It is made now; whatever it comes to, the next one in this state is the usual one.
    this.#choice = null;
    if (choice.type === DEMANDS && situation.state.stage === CHARGES) this.#demands += 1;
    return choice;
  }

  #feel({ state, senses, at_ns }: Situation): void {
    const asked = state.timers.some(({ name }) => name === STOP_TIMER);
    if (asked && !this.#mood.asked) this.#due_ns = at_ns + stopDue_ns(senses.current_A ?? 0);
    if (!asked) this.#due_ns = null;
    this.#mood.asked = asked;
  }

  #decide(situation: Situation, usual: Choice): void {
    this.#entered = situation.random;
    this.#choice = null;
    const at = this.#director.decision(this.#side);
    if (at === undefined) return;
    const at_ns = usual.at_ns + (at.wait?.ms ?? 0) * 1e6;
    this.#choice =
      at.choose === undefined ? { ...usual, at_ns } : otherWay(situation, at.choose.pick, at_ns);
  }

  /** After its demands the vehicle stops, and at once when it is asked to. */
  #usual(situation: Situation): Choice | null {
    const usual = this.#habits.choose(situation);
    if (this.#side === 'charger' || situation.state.stage !== CHARGES) return usual;
    const done = this.#mood.asked || this.#demands >= this.#director.plan.demands;
    if (usual?.type !== DEMANDS || !done || !situation.can(STOPS)) return usual;
    return { type: STOPS, at_ns: usual.at_ns };
  }

  /** What comes after the stop is due is the stop. */
  #inTime({ at_ns, can }: Situation, choice: Choice): Choice {
    const due_ns = this.#due_ns;
    if (due_ns === null || choice.at_ns < due_ns || choice.type === STOPS || !can(STOPS)) {
      return choice;
    }
    return { type: STOPS, at_ns: Math.max(at_ns, due_ns) };
  }
}

/** One of the choices that are open, with free facts of its own. */
function otherWay(situation: Situation, pick: number, at_ns: number): Choice | null {
  const open = situation.options();
  if (open.length === 0) return null;
  const type = open[pick % open.length]!;
  return { type, at_ns, facts: picked(FREE_FACTS, Math.floor(pick / open.length)) };
}
