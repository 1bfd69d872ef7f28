// Follows one side of a session through a recording. A recording is one vantage point: the side's choices, sensors and
// timers are not in it, so the follower keeps every state the side could be in. When a message of the side leaves none,
// that is a divergence; the follower then goes on from the states that could have sent it.
import { LINK_CLOSED, type MachineEvent, type SideMachine } from '../machine/convention.ts';
import { createStepper, type Stepper } from '../machine/step.ts';
import type { Divergence } from '../rules/result.ts';
import type { Side } from '../trace/observation.ts';
import { createPaths, type Offer, type Paths } from './follow-paths.ts';
import { Guesses, GuessSet, type Overrun } from './follow-set.ts';
import type { Coverage, Follower, FollowerOptions, FollowStep } from './follow-types.ts';
import { createUniverse, type Universe } from './follow-universe.ts';
import { afterWords, missedFacts, offerWords, stateWords, timerWords } from './follow-words.ts';

export type { Follower } from './follow-types.ts';

interface Shared {
  stepper: Stepper;
  paths: Paths;
  guesses: Guesses;
  universe: Universe;
  /** What each set of states is called, and what it can send: the same few sets come again and again. */
  told: Map<string, { states: string[]; next: string[] }>;
}

/** A recording whose bytes are missing again and again may meet any number of sets. */
const TOLD_AT_MOST = 5000;

/** Steps and paths of a machine are the same in every session. */
const shared = new WeakMap<SideMachine, Shared>();

function share(machine: SideMachine): Shared {
  let known = shared.get(machine);
  if (known === undefined) {
    const stepper = createStepper(machine);
    const paths = createPaths(stepper);
    const guesses = new Guesses(stepper, paths);
    known = { stepper, paths, guesses, universe: createUniverse(stepper), told: new Map() };
    shared.set(machine, known);
  }
  return known;
}

/** Follows `side` through the messages given to `observe`, in recorded order. */
export function createFollower(options: FollowerOptions): Follower {
  return new SideFollower(options);
}

class SideFollower implements Follower {
  private readonly side: Side;
  private readonly parts: Shared;
  private readonly opened_ns: number | null;
  private set = new GuessSet();
  /** Guesses that overran a timer, followed on to tell a late message from one out of order. */
  private late = new GuessSet();
  /** Every state is possible: nothing seen yet of a joined session, or bytes missing. */
  private open: boolean;
  private started = false;
  private last_ns = 0;
  private explained = 0;
  private heard: MachineEvent | null = null;
  private reported = '';
  private readonly visited = new Set<number>();

  constructor({ side, machine, joined, opened_ns }: FollowerOptions) {
    this.side = side;
    this.opened_ns = opened_ns ?? null;
    this.parts = share(machine);
    this.open = joined;
  }

  observe(event: MachineEvent, from: Side, at_ns: number, frame: number | null): FollowStep {
    this.pass(at_ns);
    const before_ns = this.last_ns;
    this.last_ns = at_ns;
    if (from !== this.side) {
      this.hear(event, before_ns, at_ns);
      return this.answer(null, false);
    }
    const next = this.parts.guesses.sent(this.set, event, before_ns, at_ns);
    if (next.size > 0) {
      this.explained += 1;
      this.reported = '';
      this.settle(next);
      return this.answer(null, false);
    }
    const excused = this.open;
    const divergence = this.diverge(event, at_ns, frame);
    this.resynchronise(event, before_ns, at_ns);
    if (excused) return this.answer(null, false);
    this.explained = 0;
    const key = `${divergence.message} ${divergence.because} ${divergence.allowed.join()}`;
    const repeated = key === this.reported;
    this.reported = key;
    return this.answer(repeated ? null : divergence, repeated);
  }

  linkClosed(at_ns: number): void {
    this.pass(at_ns);
    this.hear(LINK_CLOSED, this.last_ns, at_ns);
    this.last_ns = at_ns;
  }

  gap(): void {
    this.open = true;
    this.started = true;
    this.late = new GuessSet();
    this.set = this.anywhere();
  }

  states(): string[] {
    return this.told().states;
  }

  next(): string[] {
    return this.told().next;
  }

  private told(): { states: string[]; next: string[] } {
    const { stepper, told } = this.parts;
    let key = '';
    for (const { state, owes } of this.set) {
      key += `${state} ${owes.map(({ message }) => message).join()};`;
    }
    let known = told.get(key);
    if (known === undefined) {
      const states = [...this.set].map(({ state }) => stateWords(stepper.view(state)));
      known = { states: [...new Set(states)], next: offerWords(this.offers()) };
      if (told.size < TOLD_AT_MOST) told.set(key, known);
    }
    return known;
  }

  coverage(): Coverage {
    const { stepper } = this.parts;
    const leaves = new Set([...this.visited].flatMap((state) => stepper.view(state).leaves));
    const all = this.parts.universe.leaves();
    const unvisited = all.filter((leaf) => !leaves.has(leaf));
    return { visited: all.length - unvisited.length, of: all.length, unvisited };
  }

  private pass(at_ns: number): void {
    const { guesses, stepper } = this.parts;
    if (!this.started) {
      this.started = true;
      this.last_ns = this.opened_ns ?? at_ns;
      if (this.open) this.set = this.anywhere();
      else this.set.add(guesses.fresh(stepper.initial.next, this.opened_ns ?? at_ns));
    }
    this.set = guesses.pass(this.set, this.last_ns, at_ns, this.late);
  }

  private anywhere(): GuessSet {
    const set = new GuessSet();
    for (const state of this.parts.universe.states()) set.add(this.parts.guesses.anyTime(state));
    return set;
  }

  private hear(event: MachineEvent, before_ns: number, at_ns: number): void {
    const { guesses } = this.parts;
    this.heard = event;
    this.set = guesses.received(this.set, event, before_ns, at_ns);
    if (this.late.size > 0) this.late = guesses.received(this.late, event, before_ns, at_ns);
  }

  private settle(next: GuessSet): void {
    this.set = next;
    this.open = false;
    if (this.late.size > 0) this.late = new GuessSet();
    for (const { state } of next) this.visited.add(state);
  }

  private offers(): Offer[] {
    const offers: Offer[] = [];
    for (const { state, owes } of this.set) {
      if (owes.length > 0) offers.push({ send: owes[0]!, by: { type: 'at once' } });
      else offers.push(...this.parts.paths.offers(state));
    }
    return offers;
  }

  private diverge(event: MachineEvent, at_ns: number, frame: number | null): Divergence {
    const offers = this.offers();
    const allowed = offerWords(offers);
    const { because, excluded } = this.reason(event, offers, at_ns);
    return {
      side: this.side,
      frame,
      at: at_ns / 1e9,
      message: event.type,
      explained: this.explained,
      states: this.states(),
      allowed,
      because,
      excluded,
    };
  }

  private reason(
    event: MachineEvent,
    offers: readonly Offer[],
    at_ns: number,
  ): Pick<Divergence, 'because' | 'excluded'> {
    const { guesses, paths, stepper } = this.parts;
    let waited: Overrun | null = null;
    for (const guess of this.late) {
      const { overran, state } = guess;
      if (overran === null) continue;
      const alone = new GuessSet();
      alone.add(guess);
      if (guesses.sent(alone, event, at_ns, at_ns).size > 0) {
        return { because: 'timer', excluded: timerWords(overran, at_ns) };
      }
      if (paths.offers(state).length === 0) waited = overran;
    }
    const after = afterWords(this.heard);
    const missed = missedFacts(event, offers);
    if (missed !== null) return { because: 'guard', excluded: `${missed}, ${after}` };
    // It waited for the other side past its timeout, and goes on as if nothing had happened.
    if (waited !== null) return { because: 'timer', excluded: timerWords(waited, at_ns) };
    const doing = [...new Set([...this.set].map(({ state }) => stepper.view(state).stage))];
    const where = doing.filter((stage) => stage !== '').join(' or ');
    return {
      because: 'order',
      excluded: `out of order ${after}${where === '' ? '' : `, in ${where}`}`,
    };
  }

  /** Goes on from the states that could have sent the message, the likeliest kind first. */
  private resynchronise(event: MachineEvent, before_ns: number, at_ns: number): void {
    const { guesses } = this.parts;
    const { session: _, ...ofAnySession } = event;
    const named: MachineEvent = { type: event.type };
    const sent = (set: GuessSet, what: MachineEvent) => guesses.sent(set, what, before_ns, at_ns);
    const tries: (() => GuessSet)[] = [
      () => sent(this.late, event),
      () => sent(this.anywhere(), event),
      () => sent(this.set, ofAnySession as MachineEvent),
      () => sent(this.anywhere(), ofAnySession as MachineEvent),
      () => sent(this.set, named),
      () => sent(this.anywhere(), named),
    ];
    for (const attempt of tries) {
      const next = forgetOverruns(attempt());
      if (next.size === 0) continue;
      this.settle(next);
      return;
    }
    // No state of the machine ever sends it (a message of another protocol): the side stays where it was.
    this.late = new GuessSet();
  }

  private answer(divergence: Divergence | null, repeated: boolean): FollowStep {
    const { stepper } = this.parts;
    const stages: string[] = [];
    for (const { state } of this.set) {
      const { stage } = stepper.view(state);
      if (stage !== '' && !stages.includes(stage)) stages.push(stage);
    }
    return { divergence, repeated, stages };
  }
}

function forgetOverruns(set: GuessSet): GuessSet {
  const next = new GuessSet();
  for (const guess of set) next.add({ ...guess, overran: null });
  return next;
}
