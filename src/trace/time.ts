// Times at the edges: seconds in text and the wall clock outside, whole nanoseconds inside.

export const NANOSECONDS = 1_000_000_000;

/**
 * How far from its epoch a trace may reach, in seconds (46 days). Below it a double holds a decimal with nine places
 * to within 0.24 ns and its product with 1e9 to within 0.25 ns, so rounding brings back the very nanosecond; above
 * 4,194,304 s it need not.
 */
export const REACH_s = 4_000_000;
export const REACH_ns = REACH_s * NANOSECONDS;

/** Whole nanoseconds as seconds, exact, up to nine decimals and no trailing zeros. Needs |at_ns| < REACH_ns. */
export function secondsText(at_ns: number): string {
  // The quotient is the double nearest to the decimal, and in this range its shortest text is that decimal.
  const text = String(at_ns / NANOSECONDS);
  return text.includes('e') ? (at_ns / NANOSECONDS).toFixed(9).replace(/0+$/, '') : text;
}

/** Seconds read from text as whole nanoseconds, to the nearest. Needs |at_s| < REACH_s. */
export function nanosecondsOf(at_s: number): number {
  return Math.round(at_s * NANOSECONDS) + 0;
}

const INSTANT =
  /^(\d{4})-(\d\d)-(\d\d)[T ](\d\d):(\d\d):(\d\d)(?:[.,](\d{1,9}))?(?:Z|([+-])(\d\d):?(\d\d))$/;

/**
 * A wall-clock time (ISO 8601, seconds with up to nine decimals, Z or an offset) as nanoseconds since 1970-01-01 UTC;
 * null when it is none. A time without a zone is none: nobody can say when it was.
 */
export function instantOf(text: string): bigint | null {
  const parts = INSTANT.exec(text);
  if (parts === null) return null;
  const [year, month, day, hour, minute, second] = parts.slice(1, 7).map(Number) as number[];
  const utc_ms = Date.UTC(year!, month! - 1, day!, hour!, minute!, second!);
  const whole = `${parts[1]}-${parts[2]}-${parts[3]}T${parts[4]}:${parts[5]}:${parts[6]}`;
  // Date.UTC takes 30 February for 2 March, and years below 100 for those of 1900.
  if (new Date(utc_ms).toISOString().slice(0, 19) !== whole) return null;
  const fraction_ns = Number((parts[7] ?? '').padEnd(9, '0'));
  const zone_min = Number(parts[9] ?? 0) * 60 + Number(parts[10] ?? 0);
  const zone_ms = (parts[8] === '-' ? -1 : 1) * zone_min * 60_000;
  // A zone may lead out of the years that four digits can say.
  if (new Date(utc_ms - zone_ms).toISOString().length > 24) return null;
  return BigInt(utc_ms - zone_ms) * 1_000_000n + BigInt(fraction_ns);
}

/** Nanoseconds since 1970-01-01 UTC as the header's epoch: ISO 8601 with nine decimals and Z. */
export function instantText(instant_ns: bigint): string {
  const fraction_ns = ((instant_ns % 1_000_000_000n) + 1_000_000_000n) % 1_000_000_000n;
  const second_ms = Number((instant_ns - fraction_ns) / 1_000_000n);
  const whole = new Date(second_ms).toISOString().slice(0, -5);
  return `${whole}.${String(fraction_ns).padStart(9, '0')}Z`;
}
