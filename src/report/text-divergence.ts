// Where a side left what its machine allows, and what it could have done instead.
import type { Divergence } from '../rules/result.ts';
import { count, list, moment, sentence } from './figures.ts';
import { fields, paragraph, type Look } from './look.ts';

/** Told of one session; the first says most, what follows from it less and less. */
const DIVERGENCES_AT_MOST = 5;

const WHY: Record<Divergence['because'], string> = {
  order: 'decided by the order of messages',
  timer: 'decided by a timer that had run out',
  guard: 'decided by a condition on the messages before',
};

export function divergenceLines(divergences: Divergence[], look: Look): string[] {
  const lines: string[] = [];
  for (const divergence of divergences.slice(0, DIVERGENCES_AT_MOST)) {
    lines.push(...oneDivergence(divergence, look));
  }
  const more = divergences.length - DIVERGENCES_AT_MOST;
  if (more > 0) lines.push(`and ${count(more, 'more divergence')}; --json lists them all`, '');
  return lines;
}

function oneDivergence(divergence: Divergence, look: Look): string[] {
  const { side, explained, message, frame, at, states, allowed, because, excluded } = divergence;
  const was = states.length === 1 ? 'was' : 'could have been';
  const where = states.length > 0 ? ` It ${was} in ${list(states, 'or')}.` : '';
  const instead =
    allowed.length > 0
      ? `it could have sent ${list(withoutChoices(allowed), 'or')}`
      : 'it had to wait';
  const says = `The ${side}'s machine explained ${count(explained, 'message')}, then ${message} at ${moment(frame, at)} did not fit.${where}`;
  const rows: [string, string][] = [
    ['because', sentence(`${excluded} (${WHY[because]})`)],
    ['instead', instead],
  ];
  return [
    look.strong(`Where the ${side} left its machine`),
    ...paragraph(look, says, 2),
    ...fields(look, rows, 4),
    '',
  ];
}

/** The names of a machine's choices are for its author (--json has them); a reader needs the messages. */
function withoutChoices(allowed: readonly string[]): string[] {
  return [...new Set(allowed.map((one) => one.replace(/ \((choose|sense)\.[^)]*\)$/, '')))];
}
