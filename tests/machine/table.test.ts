// Outside check of every table: XState's own `initialTransition` and `transition`.
import * as fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { and, setup, type AnyStateMachine } from 'xstate';
import { createSideMachine, remember, send, type SideChart } from '../../src/machine/chart.ts';
import type { MachineEvent, SideMachine } from '../../src/machine/convention.ts';
import { createStepper } from '../../src/machine/step.ts';
import { compileTable, ignores, inputOf, type MachineTable } from '../../src/machine/table.ts';
import { InputError } from '../../src/trace/input-error.ts';
import { anyWalk, bundled, eventsOf, walk } from './table-walk.ts';

const compiled = new Map<SideMachine, MachineTable>();

function tableOf(side: SideMachine): MachineTable {
  let table = compiled.get(side);
  if (table === undefined) compiled.set(side, (table = compileTable(side)));
  return table;
}

/** Random walks of a table against the machine; `seed` makes them the same ones each time. */
function compareOnWalks(table: MachineTable, side: SideMachine, seed?: number): void {
  // A wrong table must not lead its own test.
  const guide = tableOf(side);
  fc.assert(
    fc.property(anyWalk(side), (picks) => void walk(table, side, eventsOf(guide, picks))),
    { numRuns: 100, ...(seed === undefined ? {} : { seed, endOnFailure: true }) },
  );
}

const otherTimer = { name: '', ms: 0, input: -1, event: { type: 'other' } };

describe.each(bundled)('the table of the %s', (_, side) => {
  it('steps like XState on random walks', () => compareOnWalks(tableOf(side), side));

  it('reaches every state as XState does', () => {
    const table = tableOf(side);
    for (let start = 0; start < table.states.length; start++) {
      expect(walk(table, side, eventsOf(table, { start, picks: [] })).at(-1)).toBe(start);
    }
  });

  it.each<[string, (table: MachineTable) => Partial<MachineTable>]>([
    ['next state', ({ next }) => ({ next: next.map((state) => (state === 5 ? 4 : state)) })],
    ['output', ({ output }) => ({ output: output.map((id) => (id === 2 ? 1 : id)) })],
    [
      'start of a timer',
      ({ outputs }) => ({
        outputs: outputs.map(({ sends, drives }) => ({ sends, drives, armed: [] })),
      }),
    ],
    [
      'timer',
      ({ timers }) => ({ timers: timers.map((timer) => (timer.ms > 2_000 ? otherTimer : timer)) }),
    ],
  ])('is told by them from one with a wrong %s', (_name, change) => {
    const table = tableOf(side);
    expect(() => compareOnWalks({ ...table, ...change(table) }, side, 1)).toThrow(
      /Property failed/,
    );
  });

  it('has one input for each event of the alphabet, whatever its facts', () => {
    const { inputs } = tableOf(side);
    const covered = new Set(inputs.filter(({ timer }) => timer < 0).map(({ type }) => type));
    expect([...covered].sort()).toEqual(Object.keys(side.alphabet).sort());
    for (const [index, { example }] of inputs.entries()) {
      expect(inputOf(tableOf(side), example)).toBe(index);
    }
  });

  it('names each class by boxes that hold exactly its events', () => {
    const table = tableOf(side);
    for (const [type, domains] of Object.entries(side.alphabet)) {
      for (const event of valuations(type, domains)) {
        const holding = table.inputs.flatMap(({ type: of, facts }, index) => {
          const boxes = facts.filter((box) =>
            Object.entries(box).every(([fact, values]) => values.includes(event[fact]!)),
          );
          return of === type ? boxes.map(() => index) : [];
        });
        expect(holding, JSON.stringify(event)).toEqual([inputOf(table, event)]);
      }
    }
  });
});

/** Every valuation of an event, or a thousand of them spread evenly. */
function* valuations(
  type: string,
  domains: Readonly<Record<string, readonly string[]>>,
): Generator<MachineEvent> {
  const facts = Object.entries(domains);
  const count = facts.reduce((product, [, values]) => product * values.length, 1);
  // 7919 is prime and no domain has so many values, so the step meets every value of every fact.
  const stride = count > 1_000 ? 7_919 : 1;
  for (let i = 0; i < Math.min(count, 1_000); i++) {
    let rest = (i * stride) % count;
    const event: { type: string; [fact: string]: string } = { type };
    for (const [fact, values] of facts) {
      event[fact] = values[rest % values.length]!;
      rest = Math.floor(rest / values.length);
    }
    yield event;
  }
}

const small: SideChart = {
  id: 'm',
  side: 'charger',
  protocol: 'din70121',
  delays: { second: { ms: 1000, confidence: 'project default', source: 'test' } },
  alphabet: { GO: { speed: ['slow', 'fast', 'faster'], colour: ['red', 'green'] }, NEVER: {} },
  chart: {
    initial: 'a',
    states: {
      a: {
        on: { GO: { guard: ({ event }) => event.speed === 'slow', target: 'b' } },
        after: { second: 'b' },
      },
      b: {},
    },
  },
};

const is =
  (fact: string, value: string) =>
  ({ event }: { event: MachineEvent }): boolean =>
    event[fact] === value;

describe('inputs', () => {
  const table = compileTable(createSideMachine(small));

  it('leave out what no guard reads, and put together what none tells apart', () => {
    expect(table.inputs.map(({ type, facts }) => [type, facts])).toEqual([
      ['GO', [{ speed: ['slow'] }]],
      ['GO', [{ speed: ['fast', 'faster'] }]],
      ['NEVER', [{}]],
      ['xstate.after.second.m.a', [{}]],
    ]);
  });

  it('are looked up by event; one outside the alphabet has none', () => {
    expect(inputOf(table, { type: 'GO', speed: 'faster', colour: 'blue' })).toBe(1);
    expect(inputOf(table, { type: 'GO' })).toBe(-1);
    expect(inputOf(table, { type: 'GO', speed: 'unknown' })).toBe(-1);
    expect(inputOf(table, { type: 'OTHER' })).toBe(-1);
    expect(ignores(table, 0, 1)).toBe(true);
    expect(ignores(table, 0, 0)).toBe(false);
  });

  it('are apart where only an output reads the fact', () => {
    const says = send(({ event }) => ({ message: 'Colour', colour: event.colour! }));
    const chart = { initial: 'a', states: { a: { on: { GO: { actions: [says] } } } } };
    const { inputs } = compileTable(createSideMachine({ ...small, chart }));
    expect(inputs.map(({ facts }) => facts)).toEqual([
      [{ colour: ['red'] }],
      [{ colour: ['green'] }],
      [{}],
    ]);
  });

  it('are right for guards that are combined, which cannot be tried alone', () => {
    const machine = setup({ types: { events: {} as MachineEvent } }).createMachine({
      id: 'm',
      initial: 'a',
      states: {
        a: { on: { GO: { guard: and([is('speed', 'slow'), is('colour', 'red')]), target: 'b' } } },
        b: {},
      },
    }) as unknown as AnyStateMachine;
    const side: SideMachine = { ...small, machine };
    const combined = compileTable(side);
    expect(combined.states).toHaveLength(2);
    expect(combined.inputs[0]!.facts).toEqual([{ speed: ['slow'], colour: ['red'] }]);
    compareOnWalks(combined, side);
    expect([...createStepper(side).successors(0)].sort()).toEqual([0, 1]);
  });
});

describe('a machine that is too large or fails', () => {
  const counting = createSideMachine({
    ...small,
    id: 'counting',
    context: { word: '' },
    chart: {
      initial: 'a',
      states: {
        a: {
          on: {
            GO: { actions: [remember('word', ({ speed, colour }) => `${speed} ${colour}`)] },
          },
        },
      },
    },
  });

  it.each([
    [
      'states',
      () => compileTable(counting, { states: 4, inputs: 9 }),
      /machine counting reaches more than 4 states \(context\.word takes [0-9]+ values of these: keep a few words/,
    ],
    [
      'inputs',
      () => compileTable(counting, { states: 9, inputs: 4 }),
      /machine counting tells apart more than 4 inputs \(let its guards and outputs read fewer/,
    ],
    [
      'answers',
      () => compileTable(reader(12, 10)),
      /machine m, state a: a state tells apart more than 50000 combinations of facts of GO/,
    ],
    [
      'a guard that throws',
      () => compileTable(createSideMachine({ ...small, chart: throwing })),
      /machine m, state a: GO makes it fail: .*undefined.*may read only context and the facts/,
    ],
    [
      'a word kept that is none',
      () => compileTable(createSideMachine({ ...small, chart: forgetting })),
      /machine m, state a: xstate\.after\.second\.m\.a makes it fail: not plain data: undefined/,
    ],
  ])('is refused by name and mend: %s', (_name, compile, message) => {
    expect(compile).toThrow(InputError);
    expect(compile).toThrow(message);
  });
});

const forgetting: SideChart['chart'] = {
  initial: 'a',
  states: { a: { after: { second: { actions: [remember('word', ({ speed }) => speed!)] } } } },
};

const throwing: SideChart['chart'] = {
  initial: 'a',
  states: {
    a: { on: { GO: { guard: ({ context }) => context.missing!.length > 0, target: 'a' } } },
  },
};

/** A guard that reads every fact of an event with many. */
function reader(facts: number, values: number): SideMachine {
  const words = Array.from({ length: values }, (_, i) => `${i}`);
  const domains = Object.fromEntries(Array.from({ length: facts }, (_, i) => [`f${i}`, words]));
  const guard = ({ event }: { event: MachineEvent }): boolean =>
    Object.keys(domains).filter((fact) => event[fact] === '1').length === 3;
  return {
    ...small,
    alphabet: { GO: domains },
    machine: setup({ types: { events: {} as MachineEvent } }).createMachine({
      id: 'm',
      initial: 'a',
      states: { a: { on: { GO: { guard, target: 'a' } } } },
    }) as unknown as AnyStateMachine,
  };
}
