import * as fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { canonical } from '../../src/machine/canonical.ts';

const plain = fc.letrec((tie) => ({
  value: fc.oneof(
    fc.constant(null),
    fc.boolean(),
    fc.integer(),
    fc.string(),
    fc.array(tie('value'), { maxLength: 3 }),
    fc.dictionary(fc.string(), tie('value'), { maxKeys: 3, noNullPrototype: true }),
  ),
})).value;

describe('canonical', () => {
  it('gives two plain values one key exactly when they are equal', () => {
    fc.assert(
      fc.property(plain, plain, (a, b) => {
        let equal = true;
        try {
          expect(a).toEqual(b);
        } catch {
          equal = false;
        }
        expect(canonical(a) === canonical(b)).toBe(equal);
      }),
    );
  });

  it('does not depend on the order of keys', () => {
    expect(canonical({ a: 1, b: { c: 2, d: 3 } })).toBe(canonical({ b: { d: 3, c: 2 }, a: 1 }));
  });

  it.each([
    ['a map', new Map([['a', 1]])],
    ['a set', new Set([1])],
    ['a date', new Date(0)],
    ['a function', () => 1],
    ['a bigint', 1n],
    ['not a number', Number.NaN],
    ['undefined', undefined],
  ])('refuses %s, which JSON would collapse', (_, value) => {
    expect(() => canonical({ value })).toThrow(/not plain data/);
  });

  it('tells -0 from 0 and a number from its text', () => {
    expect(canonical(-0)).not.toBe(canonical(0));
    expect(canonical(1)).not.toBe(canonical('1'));
  });
});
