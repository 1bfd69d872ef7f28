import * as fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { figure, list, relative } from '../../src/report/figures.ts';
import { bar, fit } from '../../src/report/look.ts';
import { plain, plainJson } from '../../src/report/plain.ts';

// What ECMA-48 calls control functions: C0, DEL and C1.
// oxlint-disable-next-line no-control-regex
const controls = /[\u0000-\u001f\u007f-\u009f]/;

describe('plain', () => {
  it.each([
    ['an escape sequence', '\u001b[31mred', '\\u001b[31mred'],
    ['the C1 form of it', '\u009b31mred', '\\u009b31mred'],
    ['a carriage return', 'holds\rbroken', 'holds\\u000dbroken'],
    ['a right-to-left override', 'a\u202eb', 'a\\u202eb'],
    ['half a surrogate pair', 'a\ud800b', 'a\\ud800b'],
    ['an honest text', 'Zürich 充電 🔌 →', 'Zürich 充電 🔌 →'],
  ])('%s', (_name, hostile, safe) => {
    expect(plain(hostile)).toBe(safe);
  });

  it('lets no control character through, and what was harmless stays', () => {
    fc.assert(
      fc.property(fc.string({ unit: 'binary' }), (text) => {
        expect(plain(text)).not.toMatch(controls);
      }),
    );
    fc.assert(
      fc.property(fc.string({ unit: fc.constantFrom('a', 'ß', '充', ' ', '~') }), (text) => {
        expect(plain(text)).toBe(text);
      }),
    );
  });

  it('JSON made harmless parses to the same value', () => {
    fc.assert(
      fc.property(fc.string({ unit: 'binary' }), (text) => {
        const safe = plainJson(JSON.stringify({ text }));
        expect(safe).not.toMatch(controls);
        expect(JSON.parse(safe)).toEqual({ text });
      }),
    );
  });
});

describe('figures', () => {
  it.each([
    [17.6, '17.6'],
    [402.06, '402.1'],
    [0.125, '0.125'],
    [-0.0001, '0'],
    [1234.5, '1235'],
    [20, '20'],
    [100, '100'],
  ])('%d is %s', (value, text) => {
    expect(figure(value)).toBe(text);
  });

  it('tells times relative to a moment with their sign', () => {
    expect([-0.2401, 0.0004, -0.0004, 1].map(relative)).toEqual([
      '-0.240 s',
      '0.000 s',
      '0.000 s',
      '+1.000 s',
    ]);
  });

  it('lists words', () => {
    expect([list([]), list(['a']), list(['a', 'b']), list(['a', 'b', 'c'], 'or')]).toEqual([
      '',
      'a',
      'a and b',
      'a, b or c',
    ]);
  });

  it('a bar never says more than its columns, and shows what passes the limit', () => {
    expect([bar(0, 4), bar(0.5, 4), bar(1, 4), bar(7, 4), bar(-1, 4)]).toEqual([
      '....',
      '==..',
      '====',
      '===!',
      '....',
    ]);
  });

  it('fits text from either end, wide letters counted as two', () => {
    expect(fit('abcdef', 4)).toBe('abc…');
    expect(fit('abcdef', 4, 'end')).toBe('…def');
    expect(fit('充電充電', 5)).toBe('充電…');
  });
});
