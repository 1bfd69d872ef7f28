// A statechart as plain data: the part of XState's configuration that a side machine may use, so that pieces of it can
// be built by functions and shared between protocols.
import { assign, setup, type AnyStateMachine } from 'xstate';
import { InputError } from '../trace/input-error.ts';
import { checkMachine } from './check.ts';
import type { Drive, FactDomains, MachineEvent, Send, SideMachine } from './convention.ts';

/** Small and plain: finite words only. */
export type Context = Readonly<Record<string, string>>;

interface Scope {
  context: Context;
  event: MachineEvent;
}

export type Output =
  | { type: 'send'; params: Send | ((scope: Scope) => Send) }
  | { type: 'drive'; params: Drive }
  | ReturnType<typeof remember>;

export interface Step {
  target?: string;
  guard?: (scope: Scope) => boolean;
  actions?: readonly Output[];
}

export type Steps = string | Step | readonly Step[];

export interface Chart {
  initial?: string;
  states?: Readonly<Record<string, Chart>>;
  on?: Readonly<Record<string, Steps>>;
  after?: Readonly<Record<string, Steps>>;
  entry?: readonly Output[];
  /** The stage, in the standard's words. */
  tags?: readonly string[];
  /** What the side does here, in words. */
  description?: string;
}

export interface SideChart extends Omit<SideMachine, 'machine' | 'alphabet'> {
  id: string;
  context?: Context;
  alphabet: { readonly [event: string]: FactDomains };
  chart: Chart;
}

/** A message sent, as an output. */
export function send(params: Send | ((scope: Scope) => Send)): Output {
  return { type: 'send', params };
}

/** A command to the side's own hardware, as an output. */
export function drive(what: Drive['what'], to: string): Output {
  return { type: 'drive', params: { what, to } };
}

/** Keeps one finite word of an event in the context. */
export function remember(key: string, word: (event: MachineEvent) => string) {
  return assign<Context, MachineEvent, undefined, MachineEvent, never>({
    [key]: ({ event }: { event: MachineEvent }) => word(event),
  });
}

/** The XState machine of a chart. Throws an InputError when the chart breaks the convention. */
export function createSideMachine(side: SideChart): SideMachine {
  const { id, chart, context = {}, delays, alphabet } = side;
  const system = setup({
    types: { context: {} as Context, events: {} as MachineEvent, tags: {} as string },
    actions: {
      send: (_scope, _params: Send): void => {},
      drive: (_scope, _params: Drive): void => {},
    },
    delays: Object.fromEntries(Object.entries(delays).map(([name, { ms }]) => [name, ms])),
  });
  // A chart is a subset of XState's configuration by construction; its type is too literal for built pieces.
  const config = { id, context, ...chart } as unknown as Parameters<typeof system.createMachine>[0];
  const machine = system.createMachine(config) as unknown as AnyStateMachine;
  const made: SideMachine = { side: side.side, protocol: side.protocol, machine, alphabet, delays };
  const [problem] = checkMachine(made);
  if (problem) throw new InputError(`machine ${id}: ${problem.what}`, {}, problem.mend);
  return made;
}
