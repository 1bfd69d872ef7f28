import { expect } from 'vitest';

/** Within a share of the expected value. */
export function expectClose(value: number, expected: number, relative = 1e-9): void {
  expect(Math.abs(value - expected) / Math.abs(expected)).toBeLessThanOrEqual(relative);
}
