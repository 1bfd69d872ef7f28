// The way a recording took through a machine: which states the side may have been in, and which transitions explain what
// was seen. The replay's own follower says after each message what is possible; the steps between are taken again here.
import { createEventReader } from '../../protocols/system-c/event.ts';
import { LINK_CLOSED, type MachineEvent, type SideMachine } from '../../machine/convention.ts';
import { createStepper, type Stepper } from '../../machine/step.ts';
import { fits } from '../../replay/follow-paths.ts';
import { stateWords } from '../../replay/follow-words.ts';
import type { SessionWatcher, Watcher, Whereabouts } from '../../replay/watch.ts';
import type { Reading } from '../../facts/reading.ts';
import type { Observation } from '../../trace/observation.ts';
import { count, seconds } from '../figures.ts';
import { machineOutline, type Outline } from './outline.ts';
import { wayKey, type Overlay } from './overlay.ts';

interface Visit {
  /** Seconds from the file's epoch. */
  readonly first: number;
  times: number;
  /** At some time the side can have been nowhere else. */
  sure: boolean;
}

/** Follows one side of one machine through the sessions of recordings; the sum of them is the overlay. */
export class PathRecorder implements Watcher {
  readonly #stepper: Stepper;
  readonly #outline: Outline;
  readonly #visits = new Map<string, Visit>();
  readonly #ways = new Set<string>();
  readonly #wanted: string | null;

  /** `wanted`: only this session; null for all of a recording. */
  constructor(machine: SideMachine, wanted: string | null) {
    this.#stepper = createStepper(machine);
    this.#outline = machineOutline(machine);
    this.#wanted = wanted;
  }

  session(id: string): SessionWatcher {
    if (this.#wanted !== null && id !== this.#wanted) return { step: () => {} };
    const reader = createEventReader();
    let states = new Set<number>();
    return {
      step: (observation: Observation, reading: Reading, _extractor, where): void => {
        const event = eventOf(observation, reader);
        if (event === null) return;
        const { side } = this.#stepper.of;
        const sent = observation.kind === 'message' && observation.from === side;
        states = this.#follow(states, event, sent, where[side], reading.at_ns / 1e9);
      },
    };
  }

  aside(): void {}

  overlay(says: string): Overlay {
    const states = new Map([...this.#visits].map(([leaf, visit]) => [leaf, visitWords(visit)]));
    return { says, states, ways: this.#ways };
  }

  /** The states after an event: those reached by a step that explains it, and that the follower left possible. */
  #follow(
    before: ReadonlySet<number>,
    event: MachineEvent,
    sent: boolean,
    where: Whereabouts,
    at: number,
  ): Set<number> {
    const first = this.#stepper.initial.next;
    const from = before.size === 0 ? new Set([first]) : before;
    const possible = new Set(where.states);
    for (const timers of [false, true]) {
      const { reached, ways } = this.#steps(from, event, sent, timers);
      const kept = [...reached].filter(([state]) => this.#isAmong(state, possible));
      if (kept.length === 0) continue;
      if (before.size === 0) this.#visit(first, at, true);
      const now = new Set(kept.map(([state]) => state));
      for (const [state, taken] of kept) {
        this.#visit(state, at, now.size === 1);
        for (const one of taken) this.#take(one, ways, at);
      }
      return now;
    }
    // Explained by nothing (a divergence, a gap): it goes on from where the follower found it again.
    const found = this.#search(possible);
    for (const state of found) this.#visit(state, at, found.size === 1);
    return found;
  }

  /** By state reached the moves that led there last; `ways` has those that led to where these began. */
  #steps(
    from: ReadonlySet<number>,
    event: MachineEvent,
    sent: boolean,
    timers: boolean,
  ): { reached: Map<number, Move[]>; ways: Map<number, Move> } {
    const ways = new Map<number, Move>();
    const quiet = new Set(from);
    for (const state of quiet) {
      for (const move of this.#quietMoves(state, timers)) {
        if (quiet.has(move.to)) continue;
        quiet.add(move.to);
        ways.set(move.to, move);
      }
    }
    const reached = new Map<number, Move[]>();
    for (const state of quiet) {
      for (const move of sent ? this.#sends(state, event) : this.#hears(state, event)) {
        reached.set(move.to, [...(reached.get(move.to) ?? []), move]);
      }
    }
    return { reached, ways };
  }

  #quietMoves(state: number, timers: boolean): Move[] {
    const own = this.#stepper
      .moves(state)
      .filter(({ step }) => step.sends.length === 0)
      .map(({ event, step }) => ({ from: state, to: step.next, type: event.type }));
    if (!timers) return own;
    const fired = this.#stepper.view(state).timers.map(({ event }) => ({
      from: state,
      to: this.#stepper.step(state, event).next,
      type: event.type,
    }));
    return [...own, ...fired];
  }

  #sends(state: number, event: MachineEvent): Move[] {
    return this.#stepper
      .moves(state)
      .filter(({ step }) => step.sends.some((send) => fits(send, event)))
      .map(({ event: by, step }) => ({ from: state, to: step.next, type: by.type }));
  }

  #hears(state: number, event: MachineEvent): Move[] {
    const step = this.#stepper.step(state, event);
    // A side that takes no notice of a message stays where it is.
    return [{ from: state, to: step.next, type: step.ignored ? null : event.type }];
  }

  #isAmong(state: number, words: ReadonlySet<string>): boolean {
    return words.size === 0 || words.has(stateWords(this.#stepper.view(state)));
  }

  #search(words: ReadonlySet<string>): Set<number> {
    const all = new Set([this.#stepper.initial.next]);
    for (const state of all) for (const next of this.#stepper.successors(state)) all.add(next);
    return new Set([...all].filter((state) => this.#isAmong(state, words)));
  }

  #visit(state: number, at: number, sure: boolean): void {
    for (const leaf of this.#stepper.view(state).leaves) {
      const known = this.#visits.get(leaf);
      if (known === undefined) this.#visits.set(leaf, { first: at, times: 1, sure });
      else {
        known.times += 1;
        known.sure ||= sure;
      }
    }
  }

  /** Marks a move and, backwards, the unseen ones that led to it. */
  #take(move: Move, ways: ReadonlyMap<number, Move>, at: number): void {
    this.#mark(move);
    const before = ways.get(move.from);
    if (before === undefined) return;
    this.#visit(before.to, at, false);
    this.#take(before, ways, at);
  }

  /** The transition of the definition that a move is: declared by the state or, else, by one around it. */
  #mark({ from, to, type }: Move): void {
    if (type === null) return;
    const { states, ways } = this.#outline;
    const target = this.#stepper.view(to).leaves;
    const event = this.#eventName(from, type);
    for (const leaf of this.#stepper.view(from).leaves) {
      for (let at: string | null = leaf; at !== null; at = states.get(at)!.parent) {
        const own = ways.filter((way) => way.from === at && way.event === event);
        const found = own.filter(
          (way) => way.to === null || target.some((one) => isIn(one, way.to!)),
        );
        for (const way of found) this.#ways.add(wayKey(way));
        if (found.length > 0) break;
      }
    }
  }

  /** A timer goes by the name of its delay. */
  #eventName(state: number, type: string): string {
    const timer = this.#stepper.view(state).timers.find(({ event }) => event.type === type);
    return timer?.name ?? type;
  }
}

function visitWords({ first, times, sure }: Visit): string {
  const often = times > 1 ? `, ${count(times, 'time')}` : '';
  return `${sure ? '' : 'perhaps '}from ${seconds(first)}${often}`;
}

interface Move {
  readonly from: number;
  readonly to: number;
  /** Null where nothing was taken notice of. */
  readonly type: string | null;
}

function isIn(leaf: string, state: string): boolean {
  return state === '' || leaf === state || leaf.startsWith(`${state}.`);
}

function eventOf(
  observation: Observation,
  reader: ReturnType<typeof createEventReader>,
): MachineEvent | null {
  if (observation.kind === 'message') return reader(observation);
  const ends = observation.kind === 'link' && ['closed', 'reset'].includes(observation.state);
  return ends ? LINK_CLOSED : null;
}
