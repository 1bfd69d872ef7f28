// Walks a table and XState itself, side by side.
import * as fc from 'fast-check';
import { expect } from 'vitest';
import { initialTransition, transition, type AnyMachineSnapshot } from 'xstate';
import { canonical } from '../../src/machine/canonical.ts';
import type { MachineEvent, SideMachine } from '../../src/machine/convention.ts';
import { timersOf } from '../../src/machine/timers.ts';
import { inputOf, type MachineTable } from '../../src/machine/table.ts';
import { charger as dinCharger } from '../../machines/din70121/charger.ts';
import { vehicle as dinVehicle } from '../../machines/din70121/vehicle.ts';
import { charger as isoCharger } from '../../machines/iso15118-2/charger.ts';
import { vehicle as isoVehicle } from '../../machines/iso15118-2/vehicle.ts';

export const bundled: [string, SideMachine][] = [
  ['DIN vehicle', dinVehicle],
  ['DIN charger', dinCharger],
  ['ISO vehicle', isoVehicle],
  ['ISO charger', isoCharger],
];

/** Any event of the alphabet with any value of each fact; facts of messages may also be `unknown`. */
function anyEvent({ alphabet }: SideMachine): fc.Arbitrary<MachineEvent> {
  const kinds = Object.entries(alphabet).map(([type, domains]) => {
    const facts = Object.entries(domains).map(([fact, values]) => [
      fact,
      fc.constantFrom(...values),
    ]);
    return fc
      .record(Object.fromEntries(facts) as Record<string, fc.Arbitrary<string>>)
      .map((values): MachineEvent => Object.assign({ type }, values));
  });
  return fc.oneof(...kinds);
}

/** One step of a walk: a random event, or one of those that lead somewhere else. */
type Pick = readonly [random: MachineEvent, place: number];

/** A walk goes the shortest way to some state first, since random events alone rarely get far. */
export interface Walk {
  readonly start: number;
  readonly picks: readonly Pick[];
}

export const anyWalk = (side: SideMachine): fc.Arbitrary<Walk> =>
  fc.record({
    start: fc.nat(1_000_000),
    picks: fc.array(fc.tuple(anyEvent(side), fc.nat(1_000_000)), { maxLength: 40 }),
  });

/** The events of a walk through a table. */
export function eventsOf(table: MachineTable, { start, picks }: Walk): MachineEvent[] {
  const { inputs, next, states } = table;
  const events = shortestWay(table, start % states.length);
  let state = events.reduce((at, event) => stepOf(table, at, event), 0);
  for (const [random, place] of picks) {
    const leading = inputs.filter((_, input) => next[state * inputs.length + input] !== state);
    const chosen = leading[place % Math.max(1, leading.length)];
    const event = place % 3 === 0 || chosen === undefined ? random : chosen.example;
    events.push(event);
    state = stepOf(table, state, event);
  }
  return events;
}

function stepOf(table: MachineTable, state: number, event: MachineEvent): number {
  return table.next[state * table.inputs.length + inputOf(table, event)]!;
}

const waysOf = new WeakMap<MachineTable, MachineEvent[][]>();

function shortestWay(table: MachineTable, target: number): MachineEvent[] {
  let ways = waysOf.get(table);
  if (ways === undefined) waysOf.set(table, (ways = shortestWays(table)));
  return [...ways[target]!];
}

function shortestWays({ inputs, next }: MachineTable): MachineEvent[][] {
  const ways: MachineEvent[][] = [[]];
  const open = [0];
  for (const state of open) {
    inputs.forEach(({ example }, input) => {
      const reached = next[state * inputs.length + input]!;
      if (ways[reached] !== undefined) return;
      ways[reached] = [...ways[state]!, example];
      open.push(reached);
    });
  }
  return ways;
}

/** Throws where the table and XState's `transition` differ in next state, outputs or timers. Returns the states seen. */
export function walk(
  table: MachineTable,
  side: SideMachine,
  events: readonly MachineEvent[],
): number[] {
  const [first, atFirst] = initialTransition(side.machine) as [AnyMachineSnapshot, Action[]];
  let snapshot = first;
  let state = 0;
  expect(outcome(table, 0, table.initialOutput)).toEqual(expected(first, atFirst));
  const seen = [0];
  for (const event of events) {
    const place = state * table.inputs.length + inputOf(table, event);
    const [next, actions] = transition(side.machine, snapshot, event as never);
    snapshot = next as AnyMachineSnapshot;
    state = table.next[place]!;
    expect(outcome(table, state, table.output[place]!), JSON.stringify(event)).toEqual(
      expected(snapshot, actions as Action[]),
    );
    seen.push(state);
  }
  return seen;
}

interface Action {
  type: string;
  params?: unknown;
}

function outcome(table: MachineTable, state: number, output: number) {
  const { leaves, context, timers } = table.states[state]!;
  const { sends, drives, armed } = table.outputs[output]!;
  return {
    leaves,
    context: canonical(context),
    running: timers.map((timer) => table.timers[timer]!.event.type).sort(),
    sends,
    drives,
    armed: armed.map((timer) => table.timers[timer]!.event.type),
  };
}

function expected({ value, context, _nodes }: AnyMachineSnapshot, actions: readonly Action[]) {
  const params = (type: string): unknown[] =>
    actions.filter((action) => action.type === type).map((action) => action.params);
  return {
    leaves: leavesOf(value),
    context: canonical(context),
    running: _nodes.flatMap((node) => timersOf(node).map(({ eventType }) => eventType)).sort(),
    sends: params('send'),
    drives: params('drive'),
    armed: params('xstate.raise').map((raised) => (raised as { id: string }).id),
  };
}

function leavesOf(value: unknown, path: readonly string[] = []): string[] {
  if (typeof value === 'string') return [[...path, value].join('.')];
  return Object.entries(value as object).flatMap(([key, inner]) => leavesOf(inner, [...path, key]));
}
