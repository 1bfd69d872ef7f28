// A compiled machine → its file form. A state and its context become one flat state; a timer that a composite state
// kept running is kept by each way between the states inside it.
import type { JsonObject } from '../trace/observation.ts';
import { boxesOf } from './table-boxes.ts';
import type { FileMove, FileOutput, FileState, FileTimer, FileWay } from './table-format.ts';
import type { MachineTable, TableOutput } from './table-types.ts';

/** The file form of a machine, as `readTable` takes it. Only delays that a timer uses are in it. */
export function writeTable(table: MachineTable): JsonObject {
  const { of, states, outputs, initialOutput } = table;
  const names: Names = { states: stateNames(table), timers: timerNames(table) };
  const used = Object.entries(of.delays).filter(([name]) =>
    table.timers.some((timer) => timer.name === name),
  );
  const file = {
    handfast: 'machine',
    version: 1,
    name: of.machine.id,
    side: of.side,
    protocol: of.protocol,
    events: of.alphabet,
    delays: Object.fromEntries(used),
    initial: {
      state: names.states[0]!,
      ...listed('outputs', writeOutputs(outputs[initialOutput]!)),
    },
    states: Object.fromEntries(
      states.map((_, state) => [names.states[state], writeState(table, state, names)]),
    ),
  };
  return structuredClone(file) as unknown as JsonObject;
}

interface Names {
  readonly states: readonly string[];
  readonly timers: readonly string[];
}

/** The path of a state; states that differ in context only have it added. */
function stateNames({ states }: MachineTable): string[] {
  const paths = states.map(({ leaves }) => leaves.join(' + '));
  const taken = new Set<string>();
  return states.map(({ context }, state) => {
    let name = paths[state]!;
    if (paths.indexOf(name) !== paths.lastIndexOf(name)) {
      const words = Object.entries(context).map(([key, value]) => `${key}=${String(value)}`);
      name += ` [${words.join(', ')}]`;
    }
    while (taken.has(name)) name += "'";
    taken.add(name);
    return name;
  });
}

/** The name of its delay; where one state runs two timers of one delay, with the state each belongs to. */
function timerNames({ timers, states }: MachineTable): string[] {
  const doubled = new Set<string>();
  for (const { timers: running } of states) {
    const delays = running.map((timer) => timers[timer]!.name);
    for (const name of delays)
      if (delays.indexOf(name) !== delays.lastIndexOf(name)) doubled.add(name);
  }
  return timers.map(({ name, event: { type } }) => {
    if (!doubled.has(name)) return name;
    return `${name} of ${type.slice(type.indexOf(name) + name.length + 1)}`;
  });
}

function writeState(table: MachineTable, state: number, names: Names): FileState {
  const { stage, says } = table.states[state]!;
  const on: Record<string, FileWay[]> = {};
  for (const type of table.kinds.keys()) {
    const ways = writeWays(table, state, type, names);
    if (ways.length > 0) on[type] = ways;
  }
  const after: Record<string, FileTimer> = {};
  for (const timer of table.states[state]!.timers) {
    const { name, input } = table.timers[timer]!;
    const key = names.timers[timer]!;
    after[key] = {
      ...(key === name ? {} : { delay: name }),
      ...writeMove(table, state, input, names),
    };
  }
  return {
    ...(stage === '' ? {} : { stage }),
    says,
    ...(Object.keys(on).length > 0 ? { on } : {}),
    ...(Object.keys(after).length > 0 ? { after } : {}),
  };
}

/** The ways of one event: the classes that lead to the same, in boxes; the last way needs no guard if nothing is left. */
function writeWays(table: MachineTable, state: number, type: string, names: Names): FileWay[] {
  const { kind, first } = table.kinds.get(type)!;
  const row = state * table.inputs.length;
  const groups = new Map<string, { input: number; classes: Set<number> }>();
  for (let index = 0; index < kind.count; index++) {
    const place = row + first + index;
    const key = `${table.next[place]} ${table.output[place]}`;
    const known = groups.get(key);
    if (known !== undefined) known.classes.add(index);
    else groups.set(key, { input: first + index, classes: new Set([index]) });
  }
  const ignored = groups.delete(`${state} 0`);
  const parts = [...groups.values()].map(({ input, classes }) => ({
    move: writeMove(table, state, input, names),
    boxes: boxesOf(kind, (index) => classes.has(index)),
  }));
  if (parts.length === 0) return [];
  parts.sort((a, b) => a.boxes.length - b.boxes.length);
  const last = ignored ? [] : [parts.pop()!.move];
  const guarded = parts.flatMap(({ move, boxes }) => boxes.map((when) => ({ when, ...move })));
  return [...guarded, ...last];
}

function writeMove(table: MachineTable, state: number, input: number, names: Names): FileMove {
  const place = state * table.inputs.length + input;
  const next = table.next[place]!;
  const output = table.outputs[table.output[place]!]!;
  const running = table.states[next]!.timers;
  const kept = running.filter((timer) => !output.armed.includes(timer));
  const stays = next === state && kept.length === running.length;
  return {
    ...(stays ? {} : { to: names.states[next]! }),
    ...listed('outputs', writeOutputs(output)),
    ...(stays
      ? {}
      : listed(
          'keeps',
          kept.map((timer) => names.timers[timer]!),
        )),
  };
}

function writeOutputs({ sends, drives }: TableOutput): FileOutput[] {
  const messages = sends.map(({ message, ...facts }) =>
    Object.keys(facts).length > 0 ? { send: message, facts } : { send: message },
  );
  return [...messages, ...drives.map(({ what, to }) => ({ drive: what, to }))];
}

function listed<K extends string, T>(key: K, list: readonly T[]): { [key in K]?: T[] } {
  return (list.length > 0 ? { [key]: [...list] } : {}) as { [key in K]?: T[] };
}
