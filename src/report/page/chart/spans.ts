// Moving and scaling the span of time that a chart shows.
import type { Span } from './board.ts';

const SHORTEST_s = 0.02;

/** Inside the whole, and neither shorter than can be told nor longer than everything. */
export function within(span: Span, whole: Span): Span {
  const longest = whole.to - whole.from;
  const length = Math.min(longest, Math.max(SHORTEST_s, span.to - span.from));
  const middle = (span.from + span.to) / 2;
  const from = Math.min(whole.to - length, Math.max(whole.from, middle - length / 2));
  return { from, to: from + length };
}

/** Scaled about a time that stays where it is. */
export function scaled(span: Span, factor: number, about: number): Span {
  return { from: about - (about - span.from) * factor, to: about + (span.to - about) * factor };
}

/** Moved by a share of its length. */
export function moved(span: Span, share: number): Span {
  const by = (span.to - span.from) * share;
  return { from: span.from + by, to: span.to + by };
}

/** A span that shows `at` beside some of what is around it; the same one where it does already. */
export function showing(span: Span, at: number): Span {
  const length = span.to - span.from;
  const edge = length * 0.05;
  if (at >= span.from + edge && at <= span.to - edge) return span;
  return { from: at - length / 2, to: at + length / 2 };
}
