// The file form of a machine → a side machine, as an XState machine, so that everything downstream has one path. Its
// states are flat: a timer is an event of its own, raised with its delay where it begins and cancelled where it ends,
// which is what XState makes of `after`; written out, it can go on from one state to the next.
import { cancel, raise, setup, type AnyStateMachine } from 'xstate';
import { InputError } from '../trace/input-error.ts';
import { checkMachine } from './check.ts';
import type { Drive, MachineEvent, Send, SideMachine } from './convention.ts';
import type { Box } from './table-boxes.ts';
import type { FileMove, FileOutput, FileState, FileWay, MachineFile } from './table-format.ts';
import { checkFile } from './table-faults.ts';
import type { NodeTimer, TimerMeta } from './timers.ts';

/** Throws an InputError naming the place in the JSON, what is wrong and the mend; `name` is the file's, for messages. */
export function readTable(json: unknown, name: string): SideMachine {
  const file = checkFile(json, name);
  const { side, protocol, events } = file;
  const delays: Record<string, SideMachine['delays'][string]> = {};
  for (const [key, { ms, confidence, source }] of Object.entries(file.delays ?? {})) {
    delays[key] = { ms, confidence: confidence ?? 'project default', source: source ?? name };
  }
  const made = { side, protocol, machine: build(file, delays), alphabet: events, delays };
  const [problem] = checkMachine(made);
  if (problem) throw new InputError(problem.what, { file: name }, problem.mend);
  return made;
}

function build(file: MachineFile, delays: SideMachine['delays']): AnyStateMachine {
  const system = setup({
    types: { context: {}, events: {} as MachineEvent, tags: {} as string },
    actions: {
      send: (_scope, _params: Send): void => {},
      drive: (_scope, _params: Drive): void => {},
    },
    delays: Object.fromEntries(Object.entries(delays).map(([key, { ms }]) => [key, ms])),
  });
  const { initial, states } = file;
  const builder = new Builder(states);
  const config = {
    id: file.name,
    initial: {
      target: initial.state,
      actions: [...outputs(initial.outputs), ...builder.starts(initial.state, [])],
    },
    states: Object.fromEntries(Object.keys(states).map((key) => [key, builder.state(key)])),
  };
  // The configuration is built from data; its type is too literal for that.
  return system.createMachine(config as never) as unknown as AnyStateMachine;
}

class Builder {
  private readonly states: { readonly [name: string]: FileState };
  /** State names may hold dots, which XState reads as a path in a target; numbers do not. */
  private readonly ids: ReadonlyMap<string, string>;

  constructor(states: { readonly [name: string]: FileState }) {
    this.states = states;
    this.ids = new Map(Object.keys(states).map((name, i) => [name, `state-${i}`]));
  }

  state(name: string): object {
    const { stage, says, on = {}, after = {} } = this.states[name]!;
    const steps: Record<string, object[]> = {};
    for (const [event, ways] of Object.entries(on)) {
      steps[event] = ways.map((way) => this.way(name, way));
    }
    const timers: NodeTimer[] = [];
    for (const [key, { delay = key, ...move }] of Object.entries(after)) {
      const eventType = timerEvent(key, delay);
      timers.push({ delay, eventType });
      steps[eventType] = [this.move(name, move)];
    }
    return {
      id: this.ids.get(name),
      ...(stage === undefined ? {} : { tags: [stage] }),
      description: says ?? name,
      meta: { timers } satisfies TimerMeta,
      on: steps,
    };
  }

  private way(from: string, way: FileWay): object {
    const move = this.move(from, way);
    return way.when === undefined ? move : { ...move, guard: guardOf(way.when) };
  }

  private move(from: string, { to, outputs: out, keeps = [] }: FileMove): object {
    if (to === undefined) return { actions: outputs(out) };
    return {
      target: `#${this.ids.get(to)}`,
      actions: [...this.ends(from, keeps), ...outputs(out), ...this.starts(to, keeps)],
    };
  }

  /** The timers of a state begin, but those kept. */
  starts(state: string, keeps: readonly string[]): object[] {
    return this.timers(state, keeps).map(([key, delay]) => {
      const id = timerEvent(key, delay);
      return raise({ type: id } as MachineEvent, { id, delay: delay as never });
    });
  }

  private ends(state: string, keeps: readonly string[]): object[] {
    return this.timers(state, keeps).map(([key, delay]) => cancel(timerEvent(key, delay)));
  }

  private timers(state: string, keeps: readonly string[]): [key: string, delay: string][] {
    return Object.entries(this.states[state]!.after ?? {})
      .filter(([key]) => !keeps.includes(key))
      .map(([key, { delay = key }]) => [key, delay]);
  }
}

function timerEvent(key: string, delay: string): string {
  return `xstate.after.${delay}.${key}`;
}

function guardOf(when: Box): (scope: { event: MachineEvent }) => boolean {
  const facts = Object.entries(when);
  return ({ event }) => facts.every(([fact, values]) => values.includes(event[fact]!));
}

function outputs(list: readonly FileOutput[] = []): object[] {
  return list.map((output) =>
    'send' in output
      ? { type: 'send', params: { message: output.send, ...output.facts } }
      : { type: 'drive', params: { what: output.drive, to: output.to } },
  );
}
