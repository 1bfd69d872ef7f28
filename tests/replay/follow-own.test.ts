// A machine of a user's own, written straight in XState: parallel states, a named guard, and an answer in the same step
// as the request.
import { describe, expect, it } from 'vitest';
import { setup, type AnyStateMachine } from 'xstate';
import { checkMachine } from '../../src/machine/check.ts';
import type { Drive, MachineEvent, Send, SideMachine } from '../../src/machine/convention.ts';
import { createFollower } from '../../src/replay/follow.ts';

const system = setup({
  types: { events: {} as MachineEvent },
  actions: {
    send: (_scope, _params: Send) => {},
    drive: (_scope, _params: Drive) => {},
  },
  guards: { isWell: ({ event }) => event.error === 'none' },
  delays: { idle: 10_000 },
});

const machine = system.createMachine({
  type: 'parallel',
  states: {
    dialogue: {
      initial: 'up',
      states: {
        up: {
          tags: ['energy transfer'],
          on: {
            CurrentDemandReq: [
              {
                guard: 'isWell',
                actions: { type: 'send', params: { message: 'CurrentDemandRes', code: 'ok' } },
              },
              {
                target: 'down',
                actions: { type: 'send', params: { message: 'CurrentDemandRes', code: 'failed' } },
              },
            ],
          },
          after: { idle: 'down' },
        },
        down: { tags: ['shutdown'] },
      },
    },
    pilot: {
      initial: 'off',
      states: {
        off: { on: { 'sense.pilot': 'on' } },
        on: { entry: { type: 'drive', params: { what: 'output', to: 'on' } } },
      },
    },
  },
});

const side: SideMachine = {
  side: 'charger',
  protocol: 'iso15118-2',
  machine: machine as AnyStateMachine,
  alphabet: {
    CurrentDemandReq: { error: ['none', 'fault'] },
    'sense.pilot': {},
    'link.closed': {},
  },
  delays: { idle: { ms: 10_000, confidence: 'project default', source: 'test' } },
};

const request = (error: string): MachineEvent => Object.freeze({ type: 'CurrentDemandReq', error });
const answer = (code: string): MachineEvent => Object.freeze({ type: 'CurrentDemandRes', code });

function told(events: readonly [MachineEvent, number][]): (string | null)[] {
  const follower = createFollower({ side: 'charger', machine: side, joined: false });
  return events.map(([event, at_s]) => {
    const from = event.type.endsWith('Req') ? 'vehicle' : 'charger';
    const { divergence } = follower.observe(event, from, at_s * 1e9, null);
    return divergence === null ? null : `${divergence.because}: ${divergence.excluded}`;
  });
}

describe('a machine that answers at once', () => {
  it('keeps the convention', () => {
    expect(checkMachine(side)).toEqual([]);
  });

  it('owes exactly the answer it has decided on', () => {
    expect(
      told([
        [request('none'), 1],
        [answer('ok'), 1.02],
        [request('fault'), 2],
        [answer('failed'), 2.02],
      ]),
    ).toEqual([null, null, null, null]);
    expect(
      told([
        [request('fault'), 1],
        [answer('ok'), 1.02],
      ])[1],
    ).toMatch(/^guard: code is ok where failed is allowed/);
  });

  it('says nothing unasked', () => {
    expect(
      told([
        [request('none'), 1],
        [answer('ok'), 1.02],
        [answer('ok'), 1.04],
      ])[2],
    ).toMatch(/^order: out of order/);
  });

  it('is bound by its timers in every region', () => {
    expect(
      told([
        [request('none'), 1],
        [answer('ok'), 1.02],
        [request('none'), 13],
        [answer('ok'), 13.02],
      ])[3],
    ).toMatch(/^timer: idle of 10 s had run out/);
  });
});
