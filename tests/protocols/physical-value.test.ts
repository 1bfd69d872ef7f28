// PhysicalValueType: Value × 10^Multiplier, Multiplier −3…+3, Value signed 16 bit (ISO 15118-2 8.5, DIN SPEC 70121 9.5;
// from memory). The expected numbers are the arithmetic of that rule.
import * as fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { fields, quantity } from '../../src/protocols/system-c/physical-value.ts';

const value = (Value: number, Multiplier: number, Unit?: string) =>
  Unit === undefined ? { Value, Multiplier } : { Value, Multiplier, Unit };

describe('quantity', () => {
  it.each([
    [value(3520, -1, 'V'), 'V', 352],
    [value(352, 0, 'V'), 'V', 352],
    [value(1, -3, 'A'), 'A', 0.001],
    [value(32_767, 3, 'W'), 'W', 32_767_000],
    [value(-32_768, 3, 'W'), 'W', -32_768_000],
    [value(100, 3, 'W'), 'W', 100_000],
    [value(-25, -1, 'A'), 'A', -2.5],
    // DIN SPEC 70121: the unit is optional.
    [value(15, -1), 'A', 1.5],
  ] as const)('%j in %s is %d', (given, unit, expected) => {
    expect(quantity({ ...given }, unit)).toBe(expected);
  });

  it.each([
    ['another unit', value(1, 0, 'A')],
    ['a multiplier beyond 3', value(1, 4, 'V')],
    ['a multiplier below −3', value(1, -4, 'V')],
    ['a value beyond 16 bits', value(32_768, 0, 'V')],
    ['no number', { Value: '352', Multiplier: 0, Unit: 'V' }],
    ['no multiplier', { Value: 352, Unit: 'V' }],
    ['a list', [352]],
    ['null', null],
    ['nothing', undefined],
  ])('%s is no voltage', (_what, given) => {
    expect(quantity(given, 'V')).toBeUndefined();
  });

  it('has no error of its own at the steps the messages use', () => {
    const range = { min: -32_768, max: 32_767 };
    fc.assert(
      fc.property(fc.integer(range), fc.integer({ min: -3, max: 3 }), (mantissa, multiplier) => {
        // The nearest double to the decimal number, as JSON would read it.
        expect(quantity(value(mantissa, multiplier, 'V'), 'V')).toBe(
          Number(`${mantissa}e${multiplier}`),
        );
      }),
    );
  });
});

describe('fields', () => {
  it.each([[null], [undefined], [[1]], ['text'], [7], [true]])('of %j are none', (given) => {
    expect(fields(given)).toEqual({});
  });
});
