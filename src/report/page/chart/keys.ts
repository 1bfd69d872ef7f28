// The chart by keyboard.
import type { Finding } from '../../../rules/result.ts';
import type { Log } from '../log.ts';
import type { Span } from './board.ts';
import { moved, scaled } from './spans.ts';

interface View {
  log: Log;
  span: Span;
  whole: Span;
  /** Where the cursor is. */
  row: number;
  findings: Finding[];
}

interface Actions {
  show: (span: Span) => void;
  /** Puts the cursor at a time. */
  point: (at: number) => void;
  select: (row: number) => void;
}

/** Does what a key asks for; false for a key without meaning here. */
export function keyed(event: KeyboardEvent, view: View, actions: Actions): boolean {
  const { log, span, whole, row } = view;
  const at = log.at[row]!;
  const step = (to: number) => actions.point(log.at[Math.min(log.length - 1, Math.max(0, to))]!);
  const { key, shiftKey } = event;
  if (event.ctrlKey || event.metaKey || event.altKey) return false;
  if (key === 'ArrowLeft' || key === 'ArrowRight') {
    const way = key === 'ArrowLeft' ? -1 : 1;
    if (shiftKey) actions.show(moved(span, way * 0.2));
    else step(row + way);
  } else if (key === 'PageUp' || key === 'PageDown') {
    actions.show(moved(span, key === 'PageUp' ? -0.9 : 0.9));
  } else if (key === 'Home') step(0);
  else if (key === 'End') step(log.length - 1);
  else if (key === '+' || key === '=') actions.show(scaled(span, 0.5, at));
  else if (key === '-') actions.show(scaled(span, 2, at));
  else if (key === '0') actions.show(whole);
  else if (key === 'n' || key === 'p') {
    const place = beside(view, key === 'n' ? 1 : -1);
    if (place !== null) actions.point(place);
  } else if (key === 'Enter') actions.select(row);
  else return false;
  return true;
}

/** The time of the finding before or after the cursor. */
function beside({ findings, log, row }: View, way: 1 | -1): number | null {
  const at = log.at[row]!;
  const times = findings.map((one) => one.at).sort((a, b) => a - b);
  const later = times.find((time) => time > at + 1e-6);
  const earlier = times.findLast((time) => time < at - 1e-6);
  return (way === 1 ? later : earlier) ?? null;
}
