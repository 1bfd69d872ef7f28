// The isolation latch against what a meter saw (design "Isolation latches": a status elsewhere may lower it, never raise
// it). Ohms at a rated voltage of 500 V: fault up to 50 kΩ, warning up to 250 kΩ (IEC 61851-23 Annex CC, from memory).
import { expect, test } from 'vitest';
import { stepIsolation } from '../../src/facts/consent.ts';
import { readObserved } from '../../src/facts/observed.ts';
import type { Facts } from '../../src/facts/vocabulary.ts';

type Isolation = Facts['isolation'];

const after = (before: Isolation, resistance_ohm: number, ratedVoltage_V?: number): Isolation => {
  const seen = { kind: 'isolation', at_ns: 0, resistance_ohm } as const;
  const reading = readObserved(ratedVoltage_V === undefined ? seen : { ...seen, ratedVoltage_V });
  return stepIsolation(before, reading, null);
};

test.each<[Isolation, fault: Isolation, warning: Isolation, valid: Isolation]>([
  ['untested', 'untested', 'untested', 'untested'],
  ['testing', 'testing', 'testing', 'testing'],
  ['valid', 'fault', 'warning', 'valid'],
  ['warning', 'fault', 'warning', 'warning'],
  ['fault', 'fault', 'fault', 'fault'],
  ['unknown', 'fault', 'unknown', 'unknown'],
])('%s goes to %s, %s, %s by 40 kΩ, 200 kΩ, 1 MΩ', (before, ...expected) => {
  expect([40e3, 200e3, 1e6].map((ohm) => after(before, ohm, 500))).toEqual(expected);
});

test('a resistance without rated voltage is no class', () => {
  expect(after('valid', 0)).toBe('valid');
  expect(after('valid', 0, 500)).toBe('fault');
});
