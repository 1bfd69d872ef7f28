// The small parts of a simulation: link, switches, sensors, strategies, chance.
import { assert, integer, property } from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Link } from '../../src/simulate/link.ts';
import { createRandom } from '../../src/simulate/random.ts';
import { createSenses } from '../../src/simulate/senses.ts';
import type { SendMessage } from '../../src/simulate/side.ts';
import { anything, scripted, type Situation, type Strategy } from '../../src/simulate/strategy.ts';
import { Switch } from '../../src/simulate/switch.ts';

const message: SendMessage = {
  do: 'send',
  name: 'CableCheckReq',
  message: {},
  protocol: 'din70121',
};

describe('a link', () => {
  it('brings messages after its delay, in the order in which they were sent', () => {
    const link = new Link(2);
    link.state = 'open';
    for (const name of ['first', 'second']) {
      link.send('vehicle', 1e9, { ...message, name });
    }
    expect(link.next_ns()).toBe(1.002e9);
    expect(link.arrived(1.0019e9)).toEqual([]);
    expect(link.arrived(1.1e9).map((one) => one.message?.name)).toEqual(['first', 'second']);
    expect(link.next_ns()).toBe(Infinity);
  });

  it('takes nothing before it is open, and loses what is under way when it breaks', () => {
    const link = new Link(2);
    expect(link.send('vehicle', 0, message)).toBe(false);
    link.state = 'open';
    expect(link.send('charger', 0, message)).toBe(true);
    link.break();
    expect(link.arrived(1e9)).toEqual([]);
    expect(link.send('vehicle', 1e9, message)).toBe(false);
  });
});

describe('a switch', () => {
  it('arrives after its time, and a later command takes the place of an earlier one', () => {
    const contactor = new Switch<'open' | 'closed'>('open', { open: 15, closed: 50 });
    contactor.drive('closed', 0);
    contactor.arrive(49e6);
    expect(contactor.state).toBe('open');
    contactor.drive('open', 49e6);
    contactor.arrive(60e6);
    expect(contactor.state).toBe('open');
    contactor.drive('closed', 60e6);
    contactor.arrive(110e6);
    expect(contactor.state).toBe('closed');
  });
});

function situation(at_ns: number, types: readonly string[], random = 0.5): Situation {
  return {
    at_ns,
    since_ns: 0,
    random,
    state: null as never,
    senses: createSenses(),
    can: (type) => types.includes(type),
    options: () => [...types],
  };
}

describe('a scripted strategy', () => {
  const usual: Strategy = { choose: ({ at_ns }) => ({ type: 'usual', at_ns: at_ns + 5e9 }) };

  it('makes each choice once, at its time or as soon as the state takes it', () => {
    const strategy = scripted(usual, [{ at_ns: 2e9, type: 'choose.stop' }]);
    // Asked before, it wants to be asked again at that time.
    const stop = { type: 'choose.stop', at_ns: 2e9 };
    expect(strategy.choose(situation(1e9, ['choose.stop']))).toEqual(stop);
    expect(strategy.choose(situation(2e9, []))?.type).toBe('usual');
    const later = strategy.choose(situation(3e9, ['choose.stop']));
    expect(later).toEqual({ type: 'choose.stop', at_ns: 3e9 });
    expect(strategy.choose(situation(3e9, ['choose.stop']))?.type).toBe('usual');
  });
});

describe('a strategy that does anything', () => {
  it('takes an option there is, within its time, by the number it is given', () => {
    const types = ['choose.next', 'choose.stop', 'choose.end'];
    assert(
      property(integer({ min: 0, max: 999 }), (thousandths) => {
        const choice = anything(100).choose(situation(0, types, thousandths / 1000))!;
        expect(types).toContain(choice.type);
        expect(choice.at_ns).toBeGreaterThanOrEqual(0);
        expect(choice.at_ns).toBeLessThanOrEqual(100e6);
      }),
      { seed: 1 },
    );
    expect(anything(100).choose(situation(0, []))).toBeNull();
  });
});

describe('chance', () => {
  it('is even, and the same for the same seed', () => {
    const [one, same, another] = [createRandom(7), createRandom(7), createRandom(8)];
    const draws = Array.from({ length: 20_000 }, one);
    expect(Array.from({ length: 20_000 }, same)).toEqual(draws);
    expect(another()).not.toBe(draws[0]);
    expect(Math.min(...draws)).toBeGreaterThanOrEqual(0);
    expect(Math.max(...draws)).toBeLessThan(1);
    // Tenths: 2000 each, within five standard deviations (√(20000 · 0.1 · 0.9) = 42).
    for (let tenth = 0; tenth < 10; tenth += 1) {
      const amount = draws.filter((draw) => Math.floor(draw * 10) === tenth).length;
      expect(Math.abs(amount - 2000)).toBeLessThan(5 * 42.5);
    }
  });
});
