import { describe, expect, it } from 'vitest';
import { fromPromise, setup, type AnyStateMachine } from 'xstate';
import { checkMachine } from '../../src/machine/check.ts';
import { createSideMachine, remember } from '../../src/machine/chart.ts';
import type { Drive, MachineEvent, Send, SideMachine } from '../../src/machine/convention.ts';
import { InputError } from '../../src/trace/input-error.ts';

const second = { ms: 1000, confidence: 'project default', source: 'test' } as const;

function side(machine: AnyStateMachine, over: Partial<SideMachine> = {}): SideMachine {
  return {
    side: 'vehicle',
    protocol: 'din70121',
    machine,
    alphabet: { GO: { speed: ['slow', 'fast'] } },
    delays: { second },
    ...over,
  };
}

const system = setup({
  types: { context: {} as Record<string, unknown>, events: {} as MachineEvent },
  actions: {
    send: (_scope, _params: Send) => {},
    drive: (_scope, _params: Drive) => {},
    log: () => {},
  },
  delays: { second: 1000, unknownDelay: 1000 },
});

const good = {
  context: { count: 0 },
  initial: 'a',
  states: {
    a: {
      on: {
        GO: {
          target: 'b',
          guard: ({ event }: { event: MachineEvent }) => event.speed === 'fast',
          actions: { type: 'send', params: { message: 'X' } },
        },
      },
      after: { second: 'b' },
    },
    b: {},
  },
} as const;

const problemsOf = (machine: unknown, over: Partial<SideMachine> = {}): string[] =>
  checkMachine(side(machine as AnyStateMachine, over)).map(({ what, mend }) => `${what}: ${mend}`);

describe('checkMachine', () => {
  it('takes a machine that keeps the convention', () => {
    expect(problemsOf(system.createMachine(good))).toEqual([]);
  });

  it.each<[string, unknown, RegExp]>([
    [
      'an inline delay',
      system.createMachine({ ...good, states: { a: { after: { 500: 'b' } }, b: {} } }),
      /inline delay: name the delay/,
    ],
    [
      'a delay without a duration',
      system.createMachine({ ...good, states: { a: { after: { unknownDelay: 'b' } }, b: {} } }),
      /unknownDelay, which has no duration/,
    ],
    [
      'an unknown action',
      system.createMachine({ ...good, states: { a: { entry: 'log' }, b: {} } }),
      /has the action log: outputs are `send` and `drive`/,
    ],
    [
      'an action that is a function',
      system.createMachine({ ...good, states: { a: { entry: () => {} }, b: {} } }),
      /has the action \(a function\)/,
    ],
    [
      'an output without params',
      setup({ actions: { send: () => {} } }).createMachine({
        initial: 'a',
        states: { a: { exit: 'send' } },
      }),
      /action send .* has no plain params: give \{ message/,
    ],
    [
      'an invoked actor',
      setup({ actors: { other: fromPromise(async () => 1) } }).createMachine({
        initial: 'a',
        states: { a: { invoke: { src: 'other' } } },
      }),
      /invokes an actor: make what the actor answers an event/,
    ],
    [
      'an event that is not in the alphabet',
      system.createMachine({ ...good, states: { a: { on: { STOP: 'b' } }, b: {} } }),
      /listens for STOP, which is not in the alphabet/,
    ],
    [
      'a guard that reads more than context and event',
      system.createMachine({
        ...good,
        states: {
          a: {
            on: {
              GO: {
                guard: (scope) => (scope as { self?: object }).self !== undefined,
                target: 'b',
              },
            },
          },
          b: {},
        },
      }),
      /on GO reads self: guards may read/,
    ],
    [
      'a context that is not plain',
      system.createMachine({ ...good, context: { seen: new Map() } }),
      /not plain data/,
    ],
    [
      'a context that is not finite',
      system.createMachine({ ...good, context: { list: [] } }),
      /context\.list is not a single finite value/,
    ],
  ])('refuses %s', (_, machine, message) => {
    expect(problemsOf(machine).join('\n')).toMatch(message);
  });

  it('refuses a fact without a finite domain', () => {
    const alphabet = { GO: { speed: [] } };
    expect(problemsOf(system.createMachine(good), { alphabet }).join()).toMatch(
      /fact speed of event GO has 0 values/,
    );
  });

  it('lets assign keep a word', () => {
    const machine = createSideMachine({
      id: 'm',
      side: 'vehicle',
      protocol: 'din70121',
      delays: {},
      alphabet: { GO: { speed: ['slow', 'fast'] } },
      context: { word: '' },
      chart: {
        initial: 'a',
        states: { a: { on: { GO: { actions: [remember('word', ({ speed }) => speed!)] } } } },
      },
    });
    expect(checkMachine(machine)).toEqual([]);
  });

  it('is asked when a chart is made, and stops it with the mend', () => {
    expect(makeBroken).toThrow(InputError);
    expect(makeBroken).toThrow(/machine m: .*STOP.*list each event/);
  });
});

function makeBroken(): SideMachine {
  return createSideMachine({
    id: 'm',
    side: 'vehicle',
    protocol: 'din70121',
    delays: {},
    alphabet: {},
    chart: { initial: 'a', states: { a: { on: { STOP: 'a' } } } },
  });
}
