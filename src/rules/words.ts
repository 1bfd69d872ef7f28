// Small words the rules tell with.

/** A number with at most three significant decimals, no trailing zeros. */
export function number(value: number): string {
  const digits = Math.abs(value) >= 100 ? 0 : Math.abs(value) >= 10 ? 1 : 2;
  return String(Number(value.toFixed(digits)));
}

export const volts = (value: number): string => `${number(value)} V`;
export const amperes = (value: number): string => `${number(value)} A`;
export const seconds = (value_ns: number): string => `${number(value_ns / 1e9)} s`;

export const inFrame = (frame: number | null): string =>
  frame === null ? '' : ` (frame ${frame})`;

export function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}
