// Two machines side by side: equivalent exactly when no sequence tells them apart, and else a shortest one.
import { describe, expect, it } from 'vitest';
import { array, assert, nat, property, record } from 'fast-check';
import type { FileState } from '../../../src/machine/table-format.ts';
import { writeTable } from '../../../src/machine/table-write.ts';
import { readTable } from '../../../src/machine/table-read.ts';
import { compileTable, ignores, type MachineTable } from '../../../src/machine/table.ts';
import { compareBehaviour } from '../../../src/search/compare/difference.ts';
import { machines } from '../../support/machines.ts';
import { tableOf } from './tables.ts';

const sends = (message: string, to: string) => [{ to, outputs: [{ send: message }] }];

const drives = (to: string) => [{ drive: 'pilot' as const, to }];
const waitsFor = (code: string): Record<string, FileState> => ({
  a: { on: { 'choose.next': sends('CableCheckReq', 'b') } },
  b: { on: { CableCheckRes: [{ when: { code: [code] }, to: 'c' }] } },
  c: { on: { 'choose.next': sends('PreChargeReq', 'b') } },
});
const carrying = (pilot: string): Record<string, FileState> => ({
  a: { on: { 'choose.next': [{ to: 'b', keeps: ['long'] }] }, after: { long: { to: 'c' } } },
  b: { after: { short: { to: 'c' }, long: { to: 'c', outputs: drives(pilot) } } },
  c: {},
});
const keeping = (keeps: string[]) =>
  tableOf(
    {
      a: {
        on: { 'choose.next': [{ to: 'b', ...(keeps.length > 0 ? { keeps } : {}) }] },
        after: { long: { to: 'c' } },
      },
      b: { after: { long: { to: 'c' } } },
      c: {},
    },
    { delays: { long: { ms: 5000 } } },
  );

describe('the bundled machines', () => {
  it.each([
    ['din70121', 'vehicle'],
    ['din70121', 'charger'],
    ['iso15118-2', 'vehicle'],
    ['iso15118-2', 'charger'],
  ] as const)('%s %s is equivalent to the table it is exported as', (protocol, side) => {
    const before = compileTable(machines[protocol]![side]);
    const after = compileTable(readTable(writeTable(before), 'exported.json'));
    const found = compareBehaviour(before, after);
    expect(found).toMatchObject({ verdict: 'equivalent', difference: null, unshared: [] });
    expect(found.pairs).toBeGreaterThan(60);
  });

  it('gives up at its limit without a verdict', () => {
    const table = compileTable(machines.din70121!.vehicle);
    expect(compareBehaviour(table, table, 10).verdict).toBe('inconclusive');
  });
});

describe('what both answer', () => {
  it('differs in what is sent before any event', () => {
    const after = tableOf(
      { a: {} },
      { initial: { state: 'a', outputs: [{ send: 'CableCheckReq' }] } },
    );
    const { difference } = compareBehaviour(tableOf({ a: {} }), after);
    expect(difference).toMatchObject({ steps: [], event: null, in: ['sends'] });
  });

  it('tells only facts that make the difference', () => {
    const found = compareBehaviour(tableOf(waitsFor('ok')), tableOf(waitsFor('failed')));
    expect(found.difference!.steps.map(({ event }) => event)).toEqual([
      'choose.next',
      expect.stringMatching(/^CableCheckRes with code (ok|failed)$/),
    ]);
    expect(found.difference!.event).toBe('choose.next');
    expect(found.difference!.in).toEqual(['sends']);
  });

  it('does not depend on names of states, nor on states that answer alike', () => {
    const one = tableOf({ a: { on: { 'choose.next': sends('CableCheckReq', 'a') } } });
    const two = tableOf({
      x: { on: { 'choose.next': sends('CableCheckReq', 'y') } },
      y: { on: { 'choose.next': sends('CableCheckReq', 'x') } },
    });
    expect(compareBehaviour(one, two).verdict).toBe('equivalent');
  });

  it('cannot be compared on a value only one knows', () => {
    const states = { a: { on: { CableCheckRes: [{ when: { code: ['ok'] }, to: 'b' }] } }, b: {} };
    const more = { 'choose.next': {}, CableCheckRes: { code: ['ok', 'failed', 'unknown'] } };
    const found = compareBehaviour(tableOf(states), tableOf(states, { events: more }));
    expect(found.verdict).toBe('different');
    expect(found.unshared).toEqual(['CableCheckRes with code unknown: only after knows it']);
  });
});

describe('timers', () => {
  const delays = { short: { ms: 1000 }, long: { ms: 5000 } };
  /** Both timers run in `a`; what the long one does is `outputs`. */
  const racing = (outputs: FileState['after']) =>
    tableOf({ a: { after: { short: { to: 'b' }, ...outputs } }, b: {} }, { delays });

  it('that another one always comes before never fire', () => {
    const before = racing({ long: { to: 'b', outputs: drives('B') } });
    const after = racing({ long: { to: 'b', outputs: drives('C') } });
    expect(compareBehaviour(before, after).verdict).toBe('equivalent');
  });

  it('fire where they were started early enough', () => {
    const found = compareBehaviour(
      tableOf(carrying('B'), { delays }),
      tableOf(carrying('C'), { delays }),
    );
    expect(found.difference!.steps.map(({ event }) => event)).toEqual(['choose.next']);
    expect(found.difference!.event).toBe('long of 5 s runs out');
    expect(found.difference!.in).toEqual(['drives']);
  });

  it('at the same moment may fire in any order', () => {
    const same = { short: { ms: 1000 }, long: { ms: 1000 } };
    const of = (pilot: string) =>
      tableOf(
        { a: { after: { short: { to: 'b' }, long: { to: 'b', outputs: drives(pilot) } } }, b: {} },
        { delays: same },
      );
    expect(compareBehaviour(of('B'), of('C')).verdict).toBe('different');
  });

  it.each([['of another length', { short: { ms: 1000 } }, { short: { ms: 1500 } }]])(
    '%s are a difference',
    (_, old, now) => {
      const states = { a: { after: { short: { to: 'b' } } }, b: {} };
      const found = compareBehaviour(
        tableOf(states, { delays: old }),
        tableOf(states, { delays: now }),
      );
      expect(found.difference).toMatchObject({ event: null, in: ['timers'] });
    },
  );

  it('that go on are not timers that start anew', () => {
    const found = compareBehaviour(keeping(['long']), keeping([]));
    expect(found.difference).toMatchObject({ event: 'choose.next', in: ['timers'] });
  });
});

describe('random machines without timers', () => {
  const COUNT = 5;
  const messages = ['CableCheckReq', 'PreChargeReq'];
  const EVENTS = ['choose.next', 'choose.stop', 'choose.end'];
  const move = record({ to: nat(COUNT - 1), says: nat(messages.length) });
  const machine = array(array(move, { minLength: EVENTS.length, maxLength: EVENTS.length }), {
    minLength: COUNT,
    maxLength: COUNT,
  });
  type Moves = { to: number; says: number }[][];
  const build = (moves: Moves): MachineTable =>
    tableOf(
      Object.fromEntries(
        moves.map((ways, state) => [
          `s${state}`,
          {
            on: Object.fromEntries(
              EVENTS.map((event, index) => {
                const { to, says } = ways[index]!;
                const message = messages[says];
                const outputs = message === undefined ? {} : { outputs: [{ send: message }] };
                return [event, [{ to: `s${to}`, ...outputs }]];
              }),
            ),
          },
        ]),
      ),
      { events: Object.fromEntries(EVENTS.map((event) => [event, {}])) },
    );

  /**
   * How many events tell the first states of two Mealy machines apart, by partition refinement over the disjoint union
   * (Moore 1956, "Gedanken-experiments on sequential machines"); null when none do.
   */
  function moore(one: Moves, two: Moves): number | null {
    const all = [
      ...one,
      ...two.map((ways) => ways.map(({ to, says }) => ({ to: to + COUNT, says }))),
    ];
    let classes = all.map(() => 0);
    for (let round = 1; round <= all.length; round++) {
      const keys = all.map((ways, state) =>
        JSON.stringify([classes[state], ways.map(({ to, says }) => [says, classes[to]])]),
      );
      classes = keys.map((key) => keys.indexOf(key));
      if (classes[0] !== classes[COUNT]) return round;
    }
    return null;
  }

  it('are told apart after as many events as partition refinement needs', () => {
    let apart = 0;
    assert(
      property(machine, nat(COUNT - 1), nat(EVENTS.length - 1), move, (moves, at, event, now) => {
        const other = structuredClone(moves);
        other[at]![event] = now;
        const found = compareBehaviour(build(moves), build(other));
        const needed = moore(moves, other);
        expect(found.verdict).toBe(needed === null ? 'equivalent' : 'different');
        if (needed !== null) expect(found.difference!.steps.length + 1).toBe(needed);
        apart += needed === null ? 0 : 1;
      }),
      { numRuns: 300 },
    );
    expect(apart).toBeGreaterThan(50);
  });
});

it('a machine that takes no notice of an event is not told from one without it', () => {
  const states: Record<string, FileState> = {
    a: { on: { 'choose.next': sends('CableCheckReq', 'a') } },
  };
  const more = { 'choose.next': {}, CableCheckRes: { code: ['ok', 'failed'] }, 'choose.extra': {} };
  const wider = tableOf(states, { events: more });
  expect(
    wider.inputs.some(({ type }, input) => type === 'choose.extra' && ignores(wider, 0, input)),
  ).toBe(true);
  expect(compareBehaviour(tableOf(states), wider).verdict).toBe('equivalent');
});
