/** Measured by a recorder of its own, told by a side in a message, or concluded from what a message implies. */
export type EvidenceKind = 'measured' | 'reported' | 'inferred';

/** One number with where and when it was seen. */
export interface Measured {
  value: number;
  at_ns: number;
  frame: number | null;
  evidence: EvidenceKind;
}

/** How close one number came to the limit of a rule. */
export interface MarginSample {
  rule: string;
  value: number;
  limit: number;
  unit: string;
  at_ns: number;
  frame: number | null;
}

export function measured(
  value: number,
  at_ns: number,
  frame: number | null,
  evidence: EvidenceKind,
): Measured {
  return { value, at_ns, frame, evidence };
}

/**
 * A value lives until the next of its kind, at most three nominal cycles: a current loop runs at 0.25 s
 * (ISO 15118-2 Table 109), the other loops wait up to 2 s for an answer.
 */
export const currentLives_ns = 3 * 250_000_000;
export const voltageLives_ns = 3 * 2_000_000_000;

export function alive(value: Measured | null, now_ns: number, lives_ns: number): Measured | null {
  return value !== null && now_ns - value.at_ns <= lives_ns ? value : null;
}
