// A counterexample in text: a table of what changes from step to step, and the messages in two columns.
import stringWidth from 'string-width';
import type { Counterexample, ProveStep } from '../search/prove/prove-result.ts';
import { count } from './figures.ts';
import { padEnd, padStart, paragraph, type Look } from './look.ts';
import { plain } from './plain.ts';

export function counterexampleLines(rule: string, found: Counterexample, look: Look): string[] {
  const { steps, length } = found;
  return [
    look.strong(`How ${rule} breaks`) + ` (a shortest way, ${count(length, 'step')})`,
    '',
    ...changeLines(steps, look),
    '',
    look.strong('The messages of it'),
    '',
    ...sequenceLines(steps, look),
    ...(found.trace === null ? [] : ['', `As a trace: ${plain(found.trace)}`]),
  ];
}

const TIME_COLUMNS = 10;

const timeOf = (at_s: number): string => padStart(`${at_s.toFixed(2)} s`, TIME_COLUMNS);

/** Only steps after which something is different, and the last one, which breaks the rule. */
function changeLines(steps: readonly ProveStep[], look: Look): string[] {
  const shown = steps.filter(
    ({ changes }, index) => changes.length > 0 || index === steps.length - 1,
  );
  const texts = shown.map(({ what }) => plain(stepWords(what)));
  const room = Math.floor((look.width - TIME_COLUMNS - 4) / 2);
  const column = Math.min(room, Math.max(...texts.map((text) => stringWidth(text))));
  const indent = TIME_COLUMNS + 2 + column + 2;
  let before = '';
  return shown.flatMap(({ at_s, changes }, index) => {
    const time = timeOf(at_s);
    const first = time === before ? ' '.repeat(TIME_COLUMNS) : time;
    before = time;
    const words = changes.map(({ what, to }) => `${what}: ${to}`).join(', ');
    const left = paragraph({ ...look, width: column }, texts[index]!);
    const right =
      words === '' ? [] : paragraph({ ...look, width: look.width - indent }, plain(words));
    return beside(first, left, right, column);
  });
}

/** Two wrapped texts beside each other, a time before the first line. */
function beside(time: string, left: string[], right: string[], column: number): string[] {
  const lines = Math.max(left.length, right.length);
  return Array.from({ length: lines }, (_, line) => {
    const head = line === 0 ? time : ' '.repeat(TIME_COLUMNS);
    return `${head}  ${padEnd(left[line] ?? '', column)}  ${right[line] ?? ''}`.trimEnd();
  });
}

/** `charger: choose.finish test` → `the charger decides: finish test`. */
function stepWords(what: string): string {
  return what
    .replace(
      /^(vehicle|charger): (?:timer on clock \d+|a (long) timer) runs out/,
      (_, side, long) =>
        long === undefined
          ? `a timer of the ${side} runs out`
          : `a long timer of the ${side} runs out`,
    )
    .replace(/^(vehicle|charger): choose\./, 'the $1 decides: ')
    .replace(/^(vehicle|charger): sense\./, 'the $1 senses: ')
    .replace(/^(vehicle|charger): signal\./, 'the $1 notices: ')
    .replace(/^(vehicle|charger): /, 'the $1 ');
}

const GUTTER = 7;

/** What the vehicle says stands on the left, what the charger says on the right. */
function sequenceLines(steps: readonly ProveStep[], look: Look): string[] {
  const column = Math.floor((look.width - TIME_COLUMNS - 2 - GUTTER) / 2);
  const narrow = { ...look, width: column };
  const blank = ' '.repeat(TIME_COLUMNS);
  const lines = [`${blank}  ${padEnd('vehicle', column + GUTTER)}charger`];
  let before = '';
  for (const { at_s, from, message } of steps) {
    if (message === null) continue;
    const time = timeOf(at_s);
    const [name, ...facts] = plain(message).split(' ');
    const said = facts.length === 0 ? [] : paragraph(narrow, facts.join(' '));
    for (const [index, text] of [name!, ...said].entries()) {
      const head = index === 0 && time !== before ? time : blank;
      const arrow = index > 0 ? '' : from === 'vehicle' ? '  ──▶' : '  ◀──';
      const [left, right] = from === 'vehicle' ? [text, ''] : ['', text];
      lines.push(`${head}  ${padEnd(left, column)}${padEnd(arrow, GUTTER)}${right}`.trimEnd());
    }
    before = time;
  }
  return lines;
}
