import * as fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { initialTransition, transition, type AnyMachineSnapshot } from 'xstate';
import { branches } from '../../src/machine/branches.ts';
import { canonical } from '../../src/machine/canonical.ts';
import { createSideMachine, remember, send } from '../../src/machine/chart.ts';
import type { FactDomains, MachineEvent, SideMachine } from '../../src/machine/convention.ts';
import { createStepper } from '../../src/machine/step.ts';
import { charger as dinCharger } from '../../machines/din70121/charger.ts';
import { vehicle as dinVehicle } from '../../machines/din70121/vehicle.ts';
import { charger as isoCharger } from '../../machines/iso15118-2/charger.ts';
import { vehicle as isoVehicle } from '../../machines/iso15118-2/vehicle.ts';

const bundled: [string, SideMachine][] = [
  ['DIN vehicle', dinVehicle],
  ['DIN charger', dinCharger],
  ['ISO vehicle', isoVehicle],
  ['ISO charger', isoCharger],
];

/** Any event of a machine's alphabet with any valuation of its facts. */
function anyEvent({ alphabet }: SideMachine): fc.Arbitrary<MachineEvent> {
  const kinds = Object.entries(alphabet).map(([type, facts]) =>
    fc
      .record(
        Object.fromEntries(
          Object.entries(facts).map(([fact, values]) => [fact, fc.constantFrom(...values)]),
        ),
      )
      .map((values): MachineEvent => Object.assign(values, { type })),
  );
  return fc.oneof(...kinds);
}

/** Random events rarely get far; half of the time the walk takes one the state listens for. */
function walk(side: SideMachine, picks: readonly [MachineEvent, number][]): void {
  const stepper = createStepper(side);
  let [snapshot] = initialTransition(side.machine) as [AnyMachineSnapshot, unknown];
  let state = stepper.initial.next;
  for (const [random, pick] of picks) {
    const { timers } = stepper.view(state);
    const heard = [
      ...stepper.moves(state).map(({ event }) => event),
      ...timers.map(({ event }) => event),
    ];
    const event = pick % 2 === 0 && heard.length > 0 ? heard[pick % heard.length]! : random;
    const step = stepper.step(state, event);
    const [next, actions] = transition(side.machine, snapshot, event as never);
    const outputs = (type: string): unknown[] =>
      actions.filter((action) => action.type === type).map(({ params }) => params);
    expect(step.sends).toEqual(outputs('send'));
    expect(step.drives).toEqual(outputs('drive'));
    expect(stepper.view(step.next).leaves).toEqual(leavesOf(next.value));
    expect(stepper.step(state, event)).toBe(step);
    expect(stepper.step(state, { ...event })).toBe(step);
    state = step.next;
    snapshot = next as AnyMachineSnapshot;
  }
}

function leavesOf(value: unknown, path: readonly string[] = []): string[] {
  if (typeof value === 'string') return [[...path, value].join('.')];
  return Object.entries(value as object).flatMap(([key, inner]) => leavesOf(inner, [...path, key]));
}

describe('the remembered step', () => {
  it.each(bundled)('is XState’s own transition on random walks of the %s', (_, side) => {
    const pick = fc.tuple(anyEvent(side), fc.nat(1000));
    fc.assert(
      fc.property(fc.array(pick, { maxLength: 40 }), (picks) => walk(side, picks)),
      { numRuns: 40 },
    );
  });

  it('reaches every state a plain breadth-first search over all valuations reaches', () => {
    const stepper = createStepper(dinVehicle);
    const reached = new Set([stepper.initial.next]);
    for (const state of reached) for (const next of stepper.successors(state)) reached.add(next);
    const words = [...reached].map((state) => stepper.view(state).leaves.join());
    expect(new Set(words)).toEqual(plainSearch(dinVehicle));
  });

  it('keeps two contexts apart', () => {
    const side = createSideMachine({
      id: 'm',
      side: 'charger',
      protocol: 'din70121',
      delays: {},
      alphabet: { TELL: { word: ['a', 'b'] } },
      context: { word: '' },
      chart: {
        initial: 'a',
        states: { a: { on: { TELL: { actions: [remember('word', ({ word }) => word!)] } } } },
      },
    });
    const stepper = createStepper(side);
    const told = ['a', 'b', 'a'].map(
      (word) => stepper.step(stepper.initial.next, { type: 'TELL', word }).next,
    );
    expect(told[0]).not.toBe(told[1]);
    expect(told[0]).toBe(told[2]);
    expect([...stepper.successors(stepper.initial.next)].sort()).toEqual([...new Set(told)].sort());
  });
});

/** The slow way, straight over XState: every event with every valuation a guard or output reads. */
function plainSearch(side: SideMachine): Set<string> {
  const [first] = initialTransition(side.machine);
  const open = [first as AnyMachineSnapshot];
  const seen = new Set([canonical(first.value)]);
  const found = new Set<string>();
  for (const snapshot of open) {
    found.add(leavesOf(snapshot.value).join());
    const timers = side.machine.events.filter((type) => String(type).startsWith('xstate.after'));
    for (const type of [...Object.keys(side.alphabet), ...timers]) {
      const tried = branches({ type }, side.alphabet[type] ?? {}, (event) =>
        transition(side.machine, snapshot, event as never),
      );
      for (const { result } of tried) {
        const next = result[0] as AnyMachineSnapshot;
        const key = canonical(next.value);
        if (!seen.has(key)) open.push(next);
        seen.add(key);
      }
    }
  }
  return found;
}

/** Reads `b` only when `a` is 2; destructuring would read it every time. */
function run(event: MachineEvent): string {
  return event.a === '2' ? `2${event.b}` : event.a!;
}

describe('branches', () => {
  const domains: FactDomains = { a: ['1', '2', '3'], b: ['x', 'y'], c: ['p', 'q'] };

  it('asks once when nothing is read', () => {
    expect(branches({ type: 'E' }, domains, () => 0)).toHaveLength(1);
  });

  it('covers exactly the facts that are read, like the full product would', () => {
    const found = branches({ type: 'E' }, domains, run);
    expect(found.map(({ result }) => result).sort()).toEqual(['1', '2x', '2y', '3']);
    for (const { event, result } of found) expect(run(event)).toBe(result);
    expect(found.every(({ event }) => event.c === undefined)).toBe(true);
  });

  it('leaves given facts alone', () => {
    const found = branches({ type: 'E', a: '3' }, domains, ({ a, b }) => `${a}${b}`);
    expect(found.map(({ result }) => result).sort()).toEqual(['3x', '3y']);
  });
});

describe('an output whose facts come from the event', () => {
  it('is one move for each value', () => {
    const side = createSideMachine({
      id: 'm',
      side: 'vehicle',
      protocol: 'din70121',
      delays: {},
      alphabet: { 'choose.say': { word: ['a', 'b'], unread: ['1', '2'] } },
      chart: {
        initial: 'a',
        states: {
          a: {
            on: {
              'choose.say': {
                actions: [send(({ event }) => ({ message: 'Word', word: event.word! }))],
              },
            },
          },
        },
      },
    });
    const stepper = createStepper(side);
    const sends = stepper.moves(stepper.initial.next).map(({ step }) => step.sends[0]);
    expect(sends).toEqual([
      { message: 'Word', word: 'a' },
      { message: 'Word', word: 'b' },
    ]);
  });
});
