import { expect, test } from 'vitest';
import { isolationClass } from '../../src/facts/isolation-class.ts';

// Limits at 500 V: fault 50 kΩ, warning 250 kΩ; at 1000 V: 100 kΩ, the figure start-up charts quote, and 500 kΩ
// (IEC 61851-23 Annex CC, from memory; products derived). The ends belong to the worse class, from memory.
test.each([
  [50e3, 500, 'fault'],
  [50_001, 500, 'warning'],
  [250e3, 500, 'warning'],
  [250_001, 500, 'valid'],
  [100e3, 1000, 'fault'],
  [500e3, 1000, 'warning'],
  [500_001, 1000, 'valid'],
  // Parallel values of the two worked examples of the two-reading method: 187.5 and 65.2 Ω/V.
  [75e3, 400, 'warning'],
  [52_173.913, 800, 'fault'],
  [0, 1000, 'fault'],
  [Number.NaN, 1000, 'fault'],
])('%d Ω at %d V is %s', (resistance_ohm, rated_V, expected) => {
  expect(isolationClass(resistance_ohm, rated_V)).toBe(expected);
});
