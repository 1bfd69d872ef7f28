import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { instantOf, instantText, nanosecondsOf, secondsText } from '../../src/trace/time.ts';
import { time_ns } from './support.ts';

/** Seconds as decimal text by whole-number arithmetic alone. */
function exactSeconds(at_ns: number): string {
  const size = at_ns < 0 ? -BigInt(at_ns) : BigInt(at_ns);
  const fraction = String(size % 1_000_000_000n)
    .padStart(9, '0')
    .replace(/0+$/, '');
  const whole = `${at_ns < 0 ? '-' : ''}${size / 1_000_000_000n}`;
  return fraction === '' ? whole : `${whole}.${fraction}`;
}

describe('seconds in text and nanoseconds in memory', () => {
  test('every whole nanosecond within reach is written as integer arithmetic writes it', () => {
    fc.assert(
      fc.property(time_ns, (at_ns) => {
        expect(secondsText(at_ns)).toBe(exactSeconds(at_ns));
      }),
      { numRuns: 5000 },
    );
  });

  test('and read back exactly, through JSON numbers', () => {
    fc.assert(
      fc.property(time_ns, (at_ns) => {
        expect(nanosecondsOf(JSON.parse(secondsText(at_ns)) as number)).toBe(at_ns);
      }),
      { numRuns: 5000 },
    );
  });

  test.each([
    [0, '0'],
    [1, '0.000000001'],
    [-999, '-0.000000999'],
    [1_500_000_000, '1.5'],
    [3_999_999_999_999_999, '3999999.999999999'],
    [-3_999_999_999_999_999, '-3999999.999999999'],
  ])('%d ns is %s s', (at_ns, text) => {
    expect(secondsText(at_ns)).toBe(text);
    expect(nanosecondsOf(Number(text))).toBe(at_ns);
  });

  test('from 8,388,608 s on doubles do not tell neighbouring nanoseconds apart: a reach is needed', () => {
    expect(Number('8388608.000000001')).toBe(Number('8388608.000000002'));
  });

  test('minus nothing is nothing', () => expect(Object.is(nanosecondsOf(-0), 0)).toBe(true));
});

describe('wall-clock times', () => {
  test('agree with Date to the millisecond', () => {
    const years = { min: new Date('0100-01-01'), max: new Date('9999-12-31T23:59:59.999Z') };
    fc.assert(
      fc.property(fc.date({ ...years, noInvalidDate: true }), (date) => {
        const instant_ns = instantOf(date.toISOString());
        expect(instant_ns).toBe(BigInt(date.getTime()) * 1_000_000n);
        expect(instantText(instant_ns!)).toBe(date.toISOString().replace('Z', '000000Z'));
      }),
    );
  });

  test.each([
    ['2026-11-25T09:00:00.250+01:00', '2026-11-25T08:00:00.250000000Z'],
    ['2026-11-25 08:00:00Z', '2026-11-25T08:00:00.000000000Z'],
    ['2026-11-25T08:00:00,000000001Z', '2026-11-25T08:00:00.000000001Z'],
    ['2024-02-29T23:30:00-0130', '2024-03-01T01:00:00.000000000Z'],
    ['1969-12-31T23:59:59.999999999Z', '1969-12-31T23:59:59.999999999Z'],
  ])('%s is %s', (text, same) => expect(instantText(instantOf(text)!)).toBe(same));

  test.each([
    ['no zone', '2026-11-25T08:00:00'],
    ['no day of the calendar', '2026-02-30T08:00:00Z'],
    ['no leap year', '2025-02-29T08:00:00Z'],
    ['a 25th hour', '2026-11-25T25:00:00Z'],
    ['ten decimals', '2026-11-25T08:00:00.0000000001Z'],
    ['a zone that leads out of four digits', '9999-12-31T23:59:59-12:00'],
    ['no time at all', 'yesterday'],
  ])('%s is none: %s', (_why, text) => expect(instantOf(text)).toBeNull());
});
