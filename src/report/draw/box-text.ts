// What stands in the box of a state, and beside an arrow: lines that fit, with how much room they take.
import { count, list } from '../figures.ts';
import { textWidth, wrap } from './measure.ts';
import type { OutlineWay } from './outline.ts';
import type { Marks } from './overlay.ts';
import type { Note, ShownState } from './view.ts';
import { kindWords, wordings } from './way-words.ts';

export type LineKind = 'name' | 'says' | 'note' | 'tag' | 'label';

export interface Line {
  readonly text: string;
  readonly kind: LineKind;
  /** Says something that was taken or reached. */
  readonly marked: boolean;
}

export interface TextBlock {
  readonly lines: readonly Line[];
  readonly width: number;
  readonly height: number;
}

/** Sizes in CSS pixels. */
export const FONT: Record<LineKind, number> = { name: 14, says: 12, note: 11, tag: 11, label: 11 };
export const LEADING: Record<LineKind, number> = {
  name: 20,
  says: 16,
  note: 15,
  tag: 15,
  label: 14,
};
export const PADDING = 10;

const BOX_TEXT = 250;
const OPEN_TEXT = 360;
const LABEL_TEXT = 200;
const LABEL_LINES = 4;
const NOTE_LINES = 3;

export function boxText(
  shown: ShownState,
  begins: boolean,
  names: (path: string) => string,
  marks: Marks | null,
): TextBlock {
  const { state, folded, inside, within, notes, gathers } = shown;
  const room = shown.children.length > 0 ? OPEN_TEXT : BOX_TEXT;
  const lines: Line[] = [];
  const put = (kind: LineKind, text: string, marked = false, most = Infinity): void => {
    for (const one of wrap(text, FONT[kind], room, most)) lines.push({ kind, text: one, marked });
  };
  put('name', begins ? `● ${state.name}` : state.name);
  if (marks !== null && marks.tag(shown) !== '')
    put('tag', marks.tag(shown), marks.reached(state.path));
  if (state.says !== '' && state.says !== state.name) put('says', state.says, false, 3);
  if (folded) {
    const ways = within.length === 0 ? '' : ` and ${count(within.length, 'transition')}`;
    put('says', `inside: ${count(inside, 'state')}${ways}`);
  }
  if (state.entry.length > 0) put('note', `on entry: ${state.entry.join('; ')}`);
  if (gathers > 0) put('note', `reached from ${gathers} other boxes, named there`);
  if (folded && notes.length > 0) {
    const targets = notes.flatMap(({ to }) =>
      to === null || to === state.path ? [] : [names(to)],
    );
    if (targets.length > 0) put('note', `→ also ${list(targets)}`);
  }
  for (const note of folded ? [] : notes) {
    const marked = marks?.taken(note.ways) ?? false;
    for (const text of noteLines(note, state.path, names, room)) {
      lines.push({ kind: 'note', text, marked });
    }
  }
  return block(lines);
}

/** `→ failing: CableCheckRes [code not ok]`; how many of each kind where the words would not fit. */
function noteLines(
  { to, ways }: Note,
  own: string,
  names: (path: string) => string,
  room: number,
): string[] {
  const head = to === null ? 'stays: ' : to === own ? '↻ again: ' : `→ ${names(to)}: `;
  const whole = wrap(head + wordings(ways).join('; '), FONT.note, room);
  if (whole.length <= NOTE_LINES) return whole;
  return wrap(head + kindWords(ways), FONT.note, room, NOTE_LINES);
}

/** What stands beside an arrow. `number`: of the entry that has all of it, where there is one. */
export function labelText(
  ways: readonly OutlineWay[],
  marked: boolean,
  number: number | null,
): TextBlock {
  const lines = labelLines(ways, number).map((text): Line => ({ kind: 'label', text, marked }));
  return block(lines);
}

function labelLines(ways: readonly OutlineWay[], number: number | null): string[] {
  const whole = wordings(ways).flatMap((words) => wrap(words, FONT.label, LABEL_TEXT));
  if (whole.length <= LABEL_LINES) return whole;
  const short = wrap(kindWords(ways), FONT.label, LABEL_TEXT, LABEL_LINES - 1);
  return number === null ? short : [`(${number})`, ...short];
}

/** Whether an arrow's label leaves something out. */
export function isShortened(ways: readonly OutlineWay[]): boolean {
  const whole = wordings(ways).flatMap((words) => wrap(words, FONT.label, LABEL_TEXT));
  return whole.length > LABEL_LINES;
}

function block(lines: readonly Line[]): TextBlock {
  const width = lines.map(({ text, kind, marked }) =>
    textWidth(text, FONT[kind], kind === 'name' || marked),
  );
  return {
    lines,
    width: Math.ceil(Math.max(0, ...width)),
    height: lines.reduce((sum, { kind }) => sum + LEADING[kind], 0),
  };
}
