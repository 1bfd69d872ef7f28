// Any side machine as a side in virtual time: what it sees becomes events, its timers fire, its choices are made by a
// strategy, and what it sends is composed with the numbers its control knows.
import {
  LINK_CLOSED,
  type Drive,
  type MachineEvent,
  type Send,
  type SideMachine,
} from '../machine/convention.ts';
import { createStepper, type StateView, type Step, type Stepper } from '../machine/step.ts';
import type { SystemCProtocol } from '../protocols/system-c/body-parts.ts';
import { compose } from '../protocols/system-c/compose.ts';
import { protocols } from '../protocols/index.ts';
import type { Dialect } from '../protocols/system-c/dialect.ts';
import { createEventReader } from '../protocols/system-c/event.ts';
import { readMessage } from '../protocols/system-c/reading.ts';
import type { MessageObservation, Side as SideName } from '../trace/observation.ts';
import type { Control, CreateControl } from './control.ts';
import { isOwn, OwnEvents } from './own-events.ts';
import { createSenses, sense, type Senses } from './senses.ts';
import type { Command, Output, Reaction, Side, Sight } from './side.ts';
import { createSpeech } from './speech.ts';
import type { Situation, Strategy } from './strategy.ts';
import type { Random } from './random.ts';
import { Timers } from './timers.ts';

/** Told of every event its machine takes notice of, in the state it was in. */
export type OnStep = (state: StateView, event: MachineEvent) => void;

export interface MachineSideOptions {
  readonly machine: SideMachine;
  readonly control: CreateControl;
  /** What it does instead of, or around, what its control usually does. */
  readonly strategy?: (habits: Strategy) => Strategy;
  readonly random: Random;
  readonly onStep?: OnStep;
}

/** A machine that goes on and on without time passing is at fault. */
const MOST_MOVES_AT_ONCE = 1000;

interface Shared {
  readonly stepper: Stepper;
  readonly maySpeak: (state: number) => boolean;
}

/** Steps are the same in every session. */
const shared = new WeakMap<SideMachine, Shared>();

function share(machine: SideMachine): Shared {
  let known = shared.get(machine);
  if (known === undefined) {
    const stepper = createStepper(machine);
    shared.set(machine, (known = { stepper, maySpeak: createSpeech(stepper) }));
  }
  return known;
}

export class MachineSide implements Side {
  readonly name: SideName;
  private readonly protocol: SystemCProtocol;
  private readonly dialect: Dialect;
  private readonly shared: Shared;
  private readonly senses: Senses = createSenses();
  private readonly control: Control;
  private readonly strategy: Strategy;
  private readonly random: Random;
  private readonly onStep: OnStep | undefined;
  private readonly read = createEventReader();
  private readonly own: OwnEvents;
  private readonly timers = new Timers();
  private readonly situation: { -readonly [K in keyof Situation]: Situation[K] };
  private state: number;
  private outputs: Output[] = [];
  private closes = false;
  private lastOutput = '';
  private wakeAt_ns = Infinity;

  constructor({ machine, control, strategy, random, onStep }: MachineSideOptions) {
    this.name = machine.side;
    if (machine.protocol !== 'din70121' && machine.protocol !== 'iso15118-2') {
      throw new RangeError(`no messages can be composed for ${machine.protocol}`);
    }
    this.protocol = machine.protocol;
    this.dialect = protocols[this.protocol].dialect;
    this.shared = share(machine);
    this.random = random;
    this.onStep = onStep;
    this.control = control(this.senses);
    this.own = new OwnEvents(machine, this.control);
    const { habits } = this.control;
    this.strategy = strategy === undefined ? habits : strategy(habits);
    const { stepper } = this.shared;
    this.state = stepper.initial.next;
    this.situation = {
      at_ns: 0,
      since_ns: 0,
      random: 0,
      state: stepper.view(this.state),
      senses: this.senses,
      can: (type) => this.can(type),
      options: () =>
        [...this.situation.state.listens].filter((type) => isOwn(type) && this.can(type)),
    };
  }

  start(at_ns: number): Reaction {
    this.enter(this.shared.stepper.initial, at_ns, true);
    return this.react(at_ns);
  }

  observe(at_ns: number, sights: readonly Sight[]): Reaction {
    // Asked late: what was due before this moment comes before what is seen now.
    if (this.wakeAt_ns < at_ns) this.settle(at_ns, true);
    for (const sight of sights) this.see(sight, at_ns);
    return this.react(at_ns);
  }

  /** Names of the states it is in, for whoever reports. */
  where(): readonly string[] {
    return this.situation.state.leaves;
  }

  private react(at_ns: number): Reaction {
    this.wakeAt_ns = this.settle(at_ns, false);
    const { outputs, wakeAt_ns } = this;
    this.outputs = [];
    return { outputs, wakeAt_ns: wakeAt_ns === Infinity ? null : wakeAt_ns };
  }

  private see(sight: Sight, at_ns: number): void {
    sense(this.senses, sight);
    if (sight.kind === 'message') {
      this.control.heard(readMessage(sight, this.dialect));
      const event = this.read(sight);
      if (event !== null) this.take(event, at_ns);
    } else if (sight.kind === 'link' && this.senses.link === 'closed') {
      this.take(LINK_CLOSED, at_ns);
    }
    for (const event of this.control.signals(sight, at_ns)) this.take(event, at_ns);
  }

  /**
   * Everything due by now, in the order of its time; `before`: only what was due before now. The next time of its own.
   */
  private settle(at_ns: number, before: boolean): number {
    for (let moves = 0; moves < MOST_MOVES_AT_ONCE; moves += 1) {
      const late = this.control.overdue(at_ns);
      if (late.events.length > 0 && !before) {
        for (const event of late.events) this.take(event, at_ns);
        continue;
      }
      const timer = this.timers.next();
      const choice = this.strategy.choose(this.now(at_ns));
      const timer_ns = timer?.at_ns ?? Infinity;
      const choice_ns = choice?.at_ns ?? Infinity;
      const due_ns = Math.min(timer_ns, choice_ns);
      if (due_ns > at_ns || (before && due_ns === at_ns)) {
        return Math.min(due_ns, late.wakeAt_ns ?? Infinity);
      }
      if (timer_ns <= choice_ns) this.take(timer!.event, timer_ns);
      else this.take(this.eventOf(choice!.type, choice!.facts), at_ns);
    }
    const where = this.where().join(' and ');
    throw new RangeError(`the ${this.name} makes moves without end in ${where}`);
  }

  private now(at_ns: number): Situation {
    this.situation.at_ns = at_ns;
    return this.situation;
  }

  private can(type: string): boolean {
    if (!this.situation.state.listens.has(type)) return false;
    const event = this.eventOf(type);
    return !this.shared.stepper.step(this.state, event).ignored;
  }

  private eventOf(type: string, wanted?: Readonly<Record<string, string>>): MachineEvent {
    const { at_ns, random } = this.situation;
    return this.own.of(type, at_ns, random, wanted);
  }

  private take(event: MachineEvent, at_ns: number): void {
    const step = this.shared.stepper.step(this.state, event);
    if (step.ignored) {
      this.timers.forget(event);
      return;
    }
    this.onStep?.(this.situation.state, event);
    this.enter(step, at_ns, step.next !== this.state);
  }

  private enter(step: Step, at_ns: number, entered: boolean): void {
    const { stepper, maySpeak } = this.shared;
    this.state = step.next;
    const view = stepper.view(step.next);
    this.timers.enter(step, view, at_ns);
    if (entered || step.sends.length > 0) {
      this.situation.since_ns = at_ns;
      this.situation.random = this.random();
    }
    this.situation.state = view;
    for (const drive of step.drives) this.drive(drive, at_ns);
    for (const send of step.sends) this.send(send, at_ns);
    // Power goes with the latest request, whether or not the machine drives anew.
    this.follow();
    if (!this.closes && this.senses.link === 'open' && this.isDone(maySpeak)) {
      this.closes = true;
      this.outputs.push({ do: 'close' });
    }
  }

  /** A charger lets the vehicle close first, while a timer of its own runs. */
  private isDone(maySpeak: (state: number) => boolean): boolean {
    const waits = this.name === 'charger' && this.timers.amount > 0;
    return !waits && !maySpeak(this.state);
  }

  private send(send: Send, at_ns: number): void {
    const wanted = { ...this.control.usual(send), ...send };
    const composed = compose(this.protocol, wanted, this.control.numbers(wanted, at_ns));
    const observation: MessageObservation = {
      kind: 'message',
      at_ns,
      from: this.name,
      ...composed,
    };
    this.read(observation);
    this.control.sent(readMessage(observation, this.dialect));
    this.outputs.push({ do: 'send', ...composed });
  }

  private drive({ what, to }: Drive, at_ns: number): void {
    this.control.drove(what, to, at_ns);
    if (what === 'alarm') this.outputs.push({ do: 'alarm', alarm: to as 'fault' });
    else if (what === 'output') this.follow(true);
    else this.outputs.push({ do: what, to } as Command);
  }

  /** The power stage's set point, when it changed. */
  private follow(driven = false): void {
    const set = this.control.output();
    if (set === null) return;
    const key = `${set.to} ${set.voltage_V} ${set.current_A}`;
    if (key === this.lastOutput && !driven) return;
    this.lastOutput = key;
    this.outputs.push({ do: 'output', ...set });
  }
}
