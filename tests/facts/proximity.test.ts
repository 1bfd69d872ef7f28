import { describe, expect, test } from 'vitest';
import { cableCurrent_A, CABLE_CODES } from '../../src/facts/proximity.ts';

describe('the coding resistor', () => {
  test.each(CABLE_CODES)('$nominal_ohm Ω is a cable for $current_A A in both editions', (code) => {
    expect(cableCurrent_A(code.nominal_ohm, 2010)).toBe(code.current_A);
    expect(cableCurrent_A(code.nominal_ohm, 2017)).toBe(code.current_A);
  });

  // IEC 61851-1 Annex B; windows from memory.
  test.each([
    [1099, 2010, 13],
    [1099, 2017, null],
    [1000, 2010, 13],
    [330, 2010, 20],
    [350, 2010, 20],
    [350, 2017, null],
    [2461, 2017, null],
    [74, 2010, null],
    [79, 2017, null],
    [Infinity, 2017, null],
  ] as const)('%d Ω by the edition of %d: %s A', (resistance_ohm, edition, current_A) => {
    expect(cableCurrent_A(resistance_ohm, edition)).toBe(current_A);
  });
});
