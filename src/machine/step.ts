// The pure step of a side machine, remembered: states and events are interned to integers, so a repeated step is two
// map look-ups. Only XState's public pure functions are called. States are keyed by our own canonical text of value and
// context (sorted keys), because the default key collapses maps and splits states by key order.
import {
  initialTransition,
  type AnyMachineSnapshot,
  type AnyStateMachine,
  type AnyStateNode,
} from 'xstate';
import { Probes, type Answer } from './answers.ts';
import { branches } from './branches.ts';
import { canonical } from './canonical.ts';
import {
  isLocalEvent,
  type Drive,
  type MachineEvent,
  type Send,
  type SideMachine,
} from './convention.ts';
import { waysOut } from './reach.ts';
import { timersOf } from './timers.ts';
import { createTransition, type Action, type Transition } from './transition.ts';

export interface Step {
  readonly next: number;
  readonly sends: readonly Send[];
  readonly drives: readonly Drive[];
  /** Timers (by their event type) this step started; a timer of the old state not among them goes on. */
  readonly armed: readonly string[];
  /** The machine takes no notice of the event. */
  readonly ignored: boolean;
}

export interface Timer {
  /** The event that tells the machine it fired. */
  readonly event: MachineEvent;
  readonly name: string;
  readonly ms: number;
}

/** What is known of one interned state. */
export interface StateView {
  readonly id: number;
  /** Paths of its leaves: `transfer.running.waits`. */
  readonly leaves: readonly string[];
  /** Stage, from the tags; empty before the first and after the last. */
  readonly stage: string;
  /** What it is doing, from the leaf's description. */
  readonly says: string;
  readonly timers: readonly Timer[];
  readonly context: Readonly<Record<string, unknown>>;
  /** Event types the state or one around it has transitions for. */
  readonly listens: ReadonlySet<string>;
}

/** One thing a side may do by itself: a choice, or a reading of an own sensor. */
interface Move {
  readonly event: MachineEvent;
  readonly step: Step;
}

export interface Stepper {
  readonly of: SideMachine;
  readonly initial: Step;
  step(state: number, event: MachineEvent): Step;
  view(state: number): StateView;
  /** Every `choose.*` and `sense.*` the state takes, over every value of the facts it reads. */
  moves(state: number): readonly Move[];
  /** Every state one step away: own moves, timers and whatever may come from outside. */
  successors(state: number): readonly number[];
  /** Every way the state answers events of one type, over all values of the facts it reads. */
  answers(state: number, type: string): readonly Answer<Step>[];
}

interface Interned {
  snapshot: AnyMachineSnapshot;
  /** Event types the state or one around it has transitions for. */
  listens: ReadonlySet<string>;
  /** The step for every other event. */
  unmoved: Step;
  steps: Map<number, Step>;
  view: StateView | null;
  moves: readonly Move[] | null;
}

export function createStepper(side: SideMachine): Stepper {
  return new SideStepper(side);
}

class SideStepper implements Stepper {
  readonly of: SideMachine;
  readonly initial: Step;
  private readonly states: Interned[] = [];
  private readonly stateIds = new Map<string, number>();
  private readonly eventIds = new Map<string, number>();
  private readonly seenEvents = new WeakMap<MachineEvent, number>();
  private readonly probes: Probes;
  private readonly transition: Transition;

  constructor(side: SideMachine) {
    this.of = side;
    this.probes = new Probes(side.alphabet);
    this.transition = createTransition(side.machine);
    const [first, actions] = initialTransition(side.machine, undefined as never);
    this.initial = toStep(this.intern(first), actions as Action[], false);
  }

  step(state: number, event: MachineEvent): Step {
    const { steps, listens, unmoved } = this.states[state]!;
    // Most of what a hostile trace may name never reaches the tables.
    if (!listens.has(event.type)) return unmoved;
    const id = this.eventId(event);
    let step = steps.get(id);
    if (step === undefined) steps.set(id, (step = this.run(state, event)));
    return step;
  }

  view(state: number): StateView {
    const interned = this.states[state]!;
    return (interned.view ??= describe(state, interned, this.of));
  }

  moves(state: number): readonly Move[] {
    return (this.states[state]!.moves ??= this.findMoves(state));
  }

  successors(state: number): readonly number[] {
    const { alphabet } = this.of;
    const found = new Set<number>();
    for (const given of waysOut(this.states[state]!.snapshot, alphabet)) {
      const domains = alphabet[given.type] ?? {};
      const tried = branches(given, domains, (event) => this.run(state, event));
      for (const { result } of tried) found.add(result.next);
    }
    return [...found];
  }

  answers(state: number, type: string): readonly Answer<Step>[] {
    const { snapshot, unmoved } = this.states[state]!;
    const nodes = activeNodes(snapshot.value, this.of.machine.root as AnyStateNode);
    const run = (event: MachineEvent): Step => this.run(state, event);
    return this.probes.of(type).answers(snapshot, nodes, run, unmoved);
  }

  private findMoves(state: number): Move[] {
    const { alphabet } = this.of;
    const found: Move[] = [];
    for (const type of this.states[state]!.listens) {
      if (!isLocalEvent(type)) continue;
      const tried = branches({ type }, alphabet[type] ?? {}, (event) => this.run(state, event));
      for (const { event, result } of tried) {
        if (!result.ignored) found.push({ event, step: result });
      }
    }
    return found;
  }

  private intern(snapshot: AnyMachineSnapshot): number {
    const key = canonical([snapshot.value, snapshot.context, snapshot.status]);
    const known = this.stateIds.get(key);
    if (known !== undefined) return known;
    this.stateIds.set(key, this.states.length);
    const listens = acceptedTypes(snapshot, this.of.machine);
    const unmoved = toStep(this.states.length, [], true);
    this.states.push({ snapshot, listens, unmoved, steps: new Map(), view: null, moves: null });
    return this.states.length - 1;
  }

  private eventId(event: MachineEvent): number {
    const seen = this.seenEvents.get(event);
    if (seen !== undefined) return seen;
    const key = canonical(event);
    let id = this.eventIds.get(key);
    if (id === undefined) this.eventIds.set(key, (id = this.eventIds.size));
    // Only a frozen event can be known by its identity.
    if (Object.isFrozen(event)) this.seenEvents.set(event, id);
    return id;
  }

  private run(state: number, event: MachineEvent): Step {
    const before = this.states[state]!.snapshot;
    const [after, actions] = this.transition(before, event);
    const next = after === before ? state : this.intern(after);
    return toStep(next, actions, next === state);
  }
}

const NOTHING: readonly never[] = Object.freeze([]);

function toStep(next: number, actions: readonly Action[], unchanged: boolean): Step {
  const sends: Send[] = [];
  const drives: Drive[] = [];
  const armed: string[] = [];
  for (const { type, params } of actions) {
    if (type === 'send') sends.push(params as unknown as Send);
    else if (type === 'drive') drives.push(params as unknown as Drive);
    else if (type === 'xstate.raise' && params?.id !== undefined) armed.push(params.id);
  }
  const ignored = unchanged && sends.length + drives.length + armed.length === 0;
  return Object.freeze({
    next,
    sends: sends.length > 0 ? sends : NOTHING,
    drives: drives.length > 0 ? drives : NOTHING,
    armed: armed.length > 0 ? armed : NOTHING,
    ignored,
  });
}

/** The nodes a state value names, from the root down. */
export function activeNodes(value: unknown, root: AnyStateNode): AnyStateNode[] {
  const nodes = [root];
  if (typeof value === 'string') nodes.push(root.states[value]!);
  else if (value !== null && typeof value === 'object') {
    for (const [key, inner] of Object.entries(value)) {
      nodes.push(...activeNodes(inner, root.states[key]!));
    }
  }
  return nodes;
}

function acceptedTypes(snapshot: AnyMachineSnapshot, machine: AnyStateMachine): Set<string> {
  const types = new Set<string>();
  for (const node of activeNodes(snapshot.value, machine.root as AnyStateNode)) {
    for (const type of node.ownEvents) types.add(type as string);
  }
  return types;
}

function describe(id: number, { snapshot, listens }: Interned, side: SideMachine): StateView {
  const nodes = activeNodes(snapshot.value, side.machine.root as AnyStateNode);
  const leaves = nodes.filter(({ type }) => type === 'atomic' || type === 'final');
  const timers: Timer[] = [];
  for (const node of nodes) {
    for (const { delay, eventType } of timersOf(node)) {
      const { ms } = side.delays[delay]!;
      if (!timers.some(({ event }) => event.type === eventType)) {
        timers.push({ event: Object.freeze({ type: eventType }), name: delay, ms });
      }
    }
  }
  return Object.freeze({
    id,
    leaves: leaves.map(({ path }) => path.join('.')),
    stage: nodes.flatMap(({ tags }) => tags).at(-1) ?? '',
    says: leaves.map(({ description, key }) => description ?? key).join(' and '),
    timers: Object.freeze(timers),
    context: snapshot.context as StateView['context'],
    listens,
  });
}
