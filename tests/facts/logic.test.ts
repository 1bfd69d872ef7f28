// Three-valued logic against the truth tables of Kleene's strong logic of indeterminacy (S. C. Kleene, Introduction to
// Metamathematics, 1952, §64): an unknown part decides nothing that the others do not decide.
import { describe, expect, it } from 'vitest';
import * as logic from '../../src/facts/logic.ts';
import { covers, type Consent, type Scope } from '../../src/facts/vocabulary.ts';

const values = [true, null, false] as const;
/** Kleene: conjunction is the least, with false < unknown < true. */
const rank = (value: boolean | null): number => (value === null ? 1 : value ? 2 : 0);

describe('and', () => {
  it.each(values.flatMap((a) => values.map((b) => [a, b] as const)))('%s and %s', (a, b) => {
    expect(rank(logic.and(a, b))).toBe(Math.min(rank(a), rank(b)));
    expect(logic.and(a, b)).toBe(logic.and(b, a));
  });

  it('is broken only if every completion of the unknowns breaks it', () => {
    for (const a of values) {
      for (const b of values) {
        const completions = [a ?? true, a ?? false].flatMap((x) =>
          [b ?? true, b ?? false].map((y) => x && y),
        );
        const all = completions.every((one) => one === completions[0]) ? completions[0]! : null;
        expect(logic.and(a, b)).toBe(all);
      }
    }
  });
});

describe('covers', () => {
  const scopes: Scope[] = ['test', 'approach', 'power'];

  it.each([
    ['none', [false, false, false]],
    ['test', [true, false, false]],
    ['approach', [true, true, false]],
    ['power', [true, true, true]],
    ['withdrawn', [false, false, false]],
    ['unknown', [null, null, null]],
  ] as [Consent, (boolean | null)[]][])('%s', (consent, expected) => {
    expect(scopes.map((scope) => covers(consent, scope))).toEqual(expected);
  });
});
