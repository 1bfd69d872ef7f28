// Random small machines with random guards, outputs and memory, so that what the bundled ones never do is compared with
// XState too: every valuation of every event in every state, by XState's own `transition`.
import * as fc from 'fast-check';
import { describe, it } from 'vitest';
import { createSideMachine, remember, send, type Step } from '../../src/machine/chart.ts';
import type { FactDomains, MachineEvent, SideMachine } from '../../src/machine/convention.ts';
import { readTable } from '../../src/machine/table-read.ts';
import { writeTable } from '../../src/machine/table-write.ts';
import { compileTable } from '../../src/machine/table.ts';
import { anyWalk, eventsOf, walk } from './table-walk.ts';

const facts: FactDomains = { a: ['0', '1', '2'], b: ['0', '1', '2', 'unknown'], c: ['0', '1'] };
const names = Object.keys(facts);
const states = ['s', 's.inner', 't', 'u'];

const test = fc.record({ fact: fc.constantFrom(...names), value: fc.constantFrom('0', '1', '2') });
type Test = { fact: string; value: string };

const holds = ({ fact, value }: Test, event: MachineEvent): boolean => event[fact] === value;

/** A guard in which one test may hide another, as people write them. */
const guard = fc.record({ first: test, second: test, either: fc.boolean() }).map(
  ({ first, second, either }) =>
    ({ event }: { event: MachineEvent }) =>
      either
        ? holds(first, event) || holds(second, event)
        : holds(first, event) && holds(second, event),
);

const output = fc.oneof(
  fc.constantFrom(...names).map((fact) => send({ message: 'Fixed', fact })),
  fc
    .constantFrom(...names)
    .map((fact) => send(({ event }) => ({ message: 'Told', fact: event[fact]! }))),
  fc.constantFrom(...names).map((fact) => remember('word', (event) => event[fact]!)),
  fc.constant(send(({ context }) => ({ message: 'Kept', word: context.word! }))),
);

const step: fc.Arbitrary<Step> = fc.record(
  {
    target: fc.constantFrom(...states.map((name) => `#m.${name}`)),
    guard,
    actions: fc.array(output, { maxLength: 2 }),
  },
  { requiredKeys: [] },
);

const late: fc.Arbitrary<Step> = fc
  .record({ target: fc.constantFrom(...states), fact: fc.constantFrom(...names) })
  .map(({ target, fact }) => ({
    target: `#m.${target}`,
    actions: [send({ message: 'Fixed', fact })],
  }));

const node = fc.record({
  GO: fc.array(step, { maxLength: 3 }),
  TELL: fc.array(step, { maxLength: 2 }),
});

const machine: fc.Arbitrary<SideMachine> = fc
  .record({ root: node, s: node, inner: node, t: node, late })
  .map(({ root, s, inner, t, late: end }) =>
    createSideMachine({
      id: 'm',
      side: 'charger',
      protocol: 'din70121',
      delays: {
        short: { ms: 10, confidence: 'project default', source: 'test' },
        long: { ms: 20, confidence: 'project default', source: 'test' },
      },
      alphabet: { GO: facts, TELL: facts },
      context: { word: '0' },
      chart: {
        initial: 's',
        on: root,
        states: {
          s: {
            on: s,
            after: { short: '#m.u' },
            initial: 'inner',
            states: { inner: { on: inner, after: { short: '#m.t' } }, other: { on: t } },
          },
          t: { on: t, after: { short: end } },
          u: { after: { long: '#m.s.other' } },
        },
      },
    }),
  );

describe('the tables of any machine', () => {
  it('step like XState, and so does the machine read back from them', () => {
    const sampled = machine.chain((side) =>
      fc.tuple(fc.constant(side), fc.array(anyWalk(side), { minLength: 3, maxLength: 3 })),
    );
    fc.assert(
      fc.property(sampled, ([side, walks]) => {
        const table = compileTable(side);
        const again = readTable(writeTable(table), 'machine.json');
        const second = compileTable(again);
        for (const picks of walks) {
          walk(table, side, eventsOf(table, picks));
          walk(second, again, eventsOf(second, picks));
        }
        if (second.states.length > table.states.length) throw new Error('states were made up');
      }),
      { numRuns: 50 },
    );
  });
});
