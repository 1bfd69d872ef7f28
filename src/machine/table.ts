// Compiles a side machine to integer tables: every reachable state is asked once, through the pure step, how it answers
// each type of event; a step is then two array look-ups. Only facts that some guard or output reads make inputs.
import { InputError } from '../trace/input-error.ts';
import { isLocalEvent, isSignal, type MachineEvent, type SideMachine } from './convention.ts';
import { createStepper, type Step, type Stepper } from './step.ts';
import { boxesOf } from './table-boxes.ts';
import { classOf, partition, type EventKind } from './table-inputs.ts';
import { Outputs } from './table-outputs.ts';
import { Shapes } from './table-shapes.ts';
import type { MachineTable, TableInput, TableState, TableTimer } from './table-types.ts';

export type * from './table-types.ts';

export interface TableLimits {
  readonly states: number;
  readonly inputs: number;
}

const TABLE_LIMITS: TableLimits = { states: 20_000, inputs: 4_096 };

/**
 * The tables of a machine. Throws an InputError naming the machine, what it is too large in and the mend, or where one
 * of its guards or outputs failed.
 */
export function compileTable(side: SideMachine, limits: TableLimits = TABLE_LIMITS): MachineTable {
  const explored = explore(side, limits);
  const { stepper, timers, shapes, outputs } = explored;
  const kinds = new Map<string, { kind: EventKind; first: number }>();
  const inputs: TableInput[] = [];
  for (const [type, ofType] of shapes) {
    const kind = partition(type, side.alphabet[type]!, ofType.shapes);
    kinds.set(type, { kind, first: inputs.length });
    for (let i = 0; i < kind.count; i++) inputs.push(describeInput(kind, i, side));
    checkInputs(side, inputs.length + timers.size, limits);
  }
  const timerNumbers = new Map([...timers.keys()].map((type, i) => [type, i]));
  const running = [...timers.values()].map(({ name, ms, event }, timer) => {
    const input = { type: event.type, facts: [{}], example: event, local: false, timer };
    return { name, ms, event, input: inputs.push(input) - 1 };
  });
  const timerOf = (type: string): number => timerNumbers.get(type)!;
  const table: MachineTable = {
    of: side,
    states: explored.states.map((state) => describeState(stepper, state, timerOf)),
    inputs,
    timers: running,
    outputs: outputs.list(timerOf),
    next: new Int32Array(explored.states.length * inputs.length),
    output: new Int32Array(explored.states.length * inputs.length),
    initialOutput: outputs.idOf(stepper.initial),
    kinds,
  };
  for (const state of explored.states) fillRow(table, state, explored);
  return table;
}

/** The input that stands for an event; -1 when a fact the machine asks for is missing or outside its domain. */
export function inputOf({ kinds, timers }: MachineTable, event: MachineEvent): number {
  const known = kinds.get(event.type);
  if (known !== undefined) {
    const inKind = classOf(known.kind, event);
    return inKind < 0 ? -1 : known.first + inKind;
  }
  return timers.find(({ event: { type } }) => type === event.type)?.input ?? -1;
}

/** The machine takes no notice of the input. */
export function ignores(
  { inputs, next, output }: MachineTable,
  state: number,
  input: number,
): boolean {
  const place = state * inputs.length + input;
  return next[place] === state && output[place] === 0;
}

interface Explored {
  readonly stepper: Stepper;
  readonly states: readonly number[];
  /** By the type of their event. */
  readonly timers: ReadonlyMap<string, Omit<TableTimer, 'input'>>;
  readonly shapes: ReadonlyMap<string, Shapes>;
  readonly outputs: Outputs;
}

function explore(side: SideMachine, limits: TableLimits): Explored {
  const stepper = createStepper(side);
  const outputs = new Outputs();
  const shapes = new Map(Object.keys(side.alphabet).map((type) => [type, new Shapes(outputs)]));
  const timers = new Map<string, Omit<TableTimer, 'input'>>();
  // The stepper numbers states from 0 in the order it finds them.
  const states: number[] = [];
  const reach = (step: Step): void => {
    outputs.idOf(step);
    for (let state = states.length; state <= step.next; state++) states.push(state);
  };
  reach(stepper.initial);
  for (const state of states) {
    const view = stepper.view(state);
    for (const [type, ofType] of shapes) {
      if (!view.listens.has(type)) ofType.addIgnored();
      else ofType.add(ask(stepper, state, type, () => stepper.answers(state, type))).forEach(reach);
    }
    for (const timer of view.timers) {
      timers.set(timer.event.type, timer);
      const { event } = timer;
      reach(ask(stepper, state, event.type, () => stepper.step(state, event)));
    }
    if (states.length > limits.states) throw tooManyStates(stepper, states, limits);
  }
  return { stepper, states, timers, shapes, outputs };
}

/** What the machine answers; where its own code fails, that is told with state and event. */
function ask<T>(stepper: Stepper, state: number, type: string, answer: () => T): T {
  try {
    return answer();
  } catch (error) {
    const where = `machine ${stepper.of.machine.id}, state ${stepper.view(state).leaves.join()}`;
    if (error instanceof InputError) {
      throw new InputError(`${where}: ${error.what}`, error.place, error.mend);
    }
    throw new InputError(
      `${where}: ${type} makes it fail: ${error instanceof Error ? error.message : String(error)}`,
      {},
      'a guard, an output or an assign throws; they may read only context and the facts of the event',
    );
  }
}

function fillRow(
  { inputs, next, output, kinds, timers, states }: MachineTable,
  state: number,
  { stepper, shapes, outputs }: Explored,
): void {
  const row = state * inputs.length;
  next.fill(state, row, row + inputs.length);
  const enter = (input: number, step: Step): void => {
    next[row + input] = step.next;
    output[row + input] = outputs.idOf(step);
  };
  for (const [type, { kind, first }] of kinds) {
    const answered = shapes.get(type)!.rows[state];
    if (answered === null || answered === undefined) continue;
    const results = kind.results[answered.shape]!;
    for (let i = 0; i < results.length; i++) enter(first + i, answered.steps[results[i]!]!);
  }
  for (const timer of states[state]!.timers) {
    const { input, event } = timers[timer]!;
    enter(input, stepper.step(state, event));
  }
}

function describeState(
  stepper: Stepper,
  state: number,
  timerOf: (type: string) => number,
): TableState {
  const { leaves, stage, says, context, timers } = stepper.view(state);
  return { leaves, stage, says, context, timers: timers.map(({ event }) => timerOf(event.type)) };
}

function describeInput(kind: EventKind, index: number, { alphabet }: SideMachine): TableInput {
  const { type } = kind;
  const facts = boxesOf(kind, (found) => found === index);
  const example: Record<string, string> = {};
  for (const [fact, values] of Object.entries(alphabet[type]!)) {
    example[fact] = facts[0]![fact]?.[0] ?? values[0]!;
  }
  return {
    type,
    facts,
    example: Object.freeze({ type, ...example }),
    local: isLocalEvent(type) || isSignal(type),
    timer: -1,
  };
}

function checkInputs({ machine }: SideMachine, count: number, limits: TableLimits): void {
  if (count <= limits.inputs) return;
  throw new InputError(
    `machine ${machine.id} tells apart more than ${limits.inputs} inputs`,
    {},
    'let its guards and outputs read fewer facts, or give those facts fewer values',
  );
}

/** Names the context word with the most values, which is the likely culprit. */
function tooManyStates(stepper: Stepper, states: readonly number[], limits: TableLimits) {
  const values = new Map<string, Set<unknown>>();
  for (const state of states) {
    for (const [key, value] of Object.entries(stepper.view(state).context)) {
      values.set(key, (values.get(key) ?? new Set()).add(value));
    }
  }
  const [widest] = [...values].sort(([, a], [, b]) => b.size - a.size);
  const mend = widest
    ? `context.${widest[0]} takes ${widest[1].size} values of these: keep a few words, or let it stop counting`
    : 'merge states that differ in nothing a rule sees';
  const what = `machine ${stepper.of.machine.id} reaches more than ${limits.states} states`;
  return new InputError(what, {}, mend);
}
