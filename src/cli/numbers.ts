// Numbers of the command line; what is no such number is a usage error.
import { InvalidArgumentError } from 'commander';

export function wholeNumber(least: number, most: number): (text: string) => number {
  return (text) => {
    const value = /^\d{1,9}$/.test(text) ? Number(text) : Number.NaN;
    if (value >= least && value <= most) return value;
    throw new InvalidArgumentError(`Give a whole number from ${least} to ${most}.`);
  };
}

/** Seconds with up to nine decimals, signed, as whole nanoseconds; no binary fraction on the way. */
export function secondsToNanoseconds(text: string): number {
  const parts = /^([+-]?)(\d{1,6})(?:\.(\d{1,9}))?$/.exec(text);
  if (parts === null) {
    throw new InvalidArgumentError(
      'Give seconds, for example 1.25 or -0.02 (at most six digits and nine decimals).',
    );
  }
  const [, sign, whole, decimals = ''] = parts;
  const size = Number(whole) * 1_000_000_000 + Number(decimals.padEnd(9, '0'));
  return sign === '-' && size !== 0 ? -size : size;
}

export function milliseconds(text: string): number {
  const value = /^\d{1,6}(\.\d{1,3})?$/.test(text) ? Number(text) : Number.NaN;
  if (value > 0) return value;
  throw new InvalidArgumentError('Give milliseconds above 0, for example 100.');
}
