// What a limit or a request still allows: in full for its window after it was superseded, then down a slope. The
// figures are those of IEC 61851-23:2014, 101.2.1: 1 s, 20 A/s.
import * as fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Ceiling } from '../../src/facts/ceiling.ts';

const make = () => new Ceiling(1e9, 20, 500);
const s = (seconds: number) => Math.round(seconds * 1e9);

describe('Ceiling', () => {
  it('knows nothing before the first value', () => {
    expect(make().allowed(0)).toBeNull();
  });

  it.each([
    [0.5, 100],
    [1, 100],
    [1.5, 90],
    [3, 60],
    [5, 20],
    [9, 20],
  ])('100 A lowered to 20 A: %d s later %d A', (after_s, expected) => {
    const ceiling = make();
    ceiling.set(100, 0, 1);
    ceiling.set(20, s(10), 2);
    const allowed = ceiling.allowed(s(10 + after_s))!;
    expect(allowed.value).toBeCloseTo(expected, 9);
    expect(allowed.latest).toBe(20);
    expect(allowed.frame).toBe(allowed.value > 20 ? 1 : 2);
  });

  it('a higher value counts at once, and for all before it', () => {
    const ceiling = make();
    ceiling.set(20, 0, 1);
    ceiling.set(100, s(1), 2);
    expect(ceiling.allowed(s(1))).toEqual({ value: 100, frame: 2, latest: 100 });
  });

  it('after a loss says nothing until the highest current could have fallen: 1 s + 500 A / 20 A/s', () => {
    const ceiling = make();
    ceiling.set(100, 0, 1);
    ceiling.forget(s(1));
    ceiling.set(20, s(2), 2);
    expect(ceiling.allowed(s(26.9))).toBeNull();
    expect(ceiling.allowed(s(27))!.value).toBe(20);
  });

  it('agrees with every value ever set, each with its own window and slope', () => {
    const steps = fc.array(
      fc.record({
        wait_s: fc.integer({ min: 0, max: 20 }),
        value: fc.integer({ min: 0, max: 300 }),
      }),
      {
        minLength: 1,
        maxLength: 30,
      },
    );
    fc.assert(
      fc.property(steps, fc.integer({ min: 0, max: 40 }), (given, after_s) => {
        const ceiling = make();
        const set: { value: number; at_s: number }[] = [];
        let now_s = 0;
        for (const { wait_s, value } of given) {
          now_s += wait_s;
          ceiling.set(value, s(now_s), null);
          set.push({ value, at_s: now_s });
        }
        now_s += after_s;
        const expected = set.map(({ value }, i) => {
          const until_s = set[i + 1]?.at_s;
          if (until_s === undefined) return value;
          return value - 20 * Math.max(0, now_s - until_s - 1);
        });
        expect(ceiling.allowed(s(now_s))!.value).toBeCloseTo(Math.max(...expected), 6);
      }),
    );
  });
});
