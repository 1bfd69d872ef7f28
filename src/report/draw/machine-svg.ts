// A machine's drawing as SVG: boxes, arrows, words.
import { FONT, LEADING, PADDING, type Line, type TextBlock } from './box-text.ts';
import type { Layout, Place, PlacedArrow, PlacedBox } from './layout.ts';
import { wrap } from './measure.ts';
import type { Marks } from './overlay.ts';
import { element, style, text, type Svg } from './svg.ts';
import { styleSheet, type Theme } from './theme.ts';
import { wordings } from './way-words.ts';

export interface Sheet {
  /** Unique in a page: everything in the drawing is told apart by it. */
  readonly id: string;
  readonly theme: Theme;
  readonly title: string;
  /** Lines below the title. */
  readonly subtitles: readonly string[];
  /** What the signs mean, and the entries numbered in the drawing. */
  readonly foot: readonly string[];
}

const MARGIN = 16;
const TITLE = 18;
const NARROWEST = 360;
const WIDEST_TEXT = 1200;

export function machineSvg(layout: Layout, marks: Marks | null, sheet: Sheet): string {
  const width = Math.max(layout.width, NARROWEST) + 2 * MARGIN;
  const room = Math.min(width - 2 * MARGIN, WIDEST_TEXT);
  const head = sheet.subtitles.flatMap((line) => wrap(line, FONT.says, room));
  const titles = wrap(sheet.title, TITLE, room * 0.88);
  const top = MARGIN + titles.length * 24 + head.length * LEADING.says + 8;
  const foot = sheet.foot.flatMap((line) => wrap(line, FONT.note, room));
  const bottom = top + layout.height + 8;
  const height = bottom + foot.length * LEADING.note + MARGIN;
  const body = element(
    'g',
    { transform: `translate(${MARGIN} ${top})` },
    ...layout.boxes.map((box) => boxSvg(box, marks)),
    ...layout.arrows.map((arrow) => arrowSvg(arrow, marks)),
    // Arrows run into open boxes: the words of those stand above the arrows.
    ...layout.boxes.filter(({ shown }) => shown.children.length > 0).map(headSvg),
    ...layout.arrows.map(labelSvg),
  );
  const { svg } = element(
    'svg',
    {
      xmlns: 'http://www.w3.org/2000/svg',
      id: sheet.id,
      width,
      height,
      viewBox: `0 0 ${Math.ceil(width)} ${Math.ceil(height)}`,
      role: 'img',
      'aria-labelledby': `${sheet.id}-title`,
    },
    element('title', { id: `${sheet.id}-title` }, text(sheet.title)),
    style(styleSheet(sheet.id, sheet.theme)),
    element('rect', { class: 'paper', width: '100%', height: '100%' }),
    ...lines(titles, 'title', TITLE, MARGIN, MARGIN, 24),
    ...lines(head, 'sub', FONT.says, MARGIN, MARGIN + titles.length * 24, LEADING.says),
    body,
    ...lines(foot, 'note', FONT.note, MARGIN, bottom, LEADING.note),
  );
  return `${svg}\n`;
}

function lines(
  all: readonly string[],
  kind: string,
  size: number,
  x: number,
  top: number,
  leading: number,
): Svg[] {
  return all.map((line, index) =>
    element(
      'text',
      { class: kind, x, y: top + index * leading + size, 'font-size': size },
      text(line),
    ),
  );
}

function boxSvg({ shown, text: words, x, y, width, height }: PlacedBox, marks: Marks | null): Svg {
  const { path } = shown.state;
  const classes = ['box'];
  if (shown.children.length > 0) classes.push('open');
  if (marks !== null) classes.push(marks.reached(path) ? 'reached' : 'missed');
  const frame = { class: classes.join(' '), x, y, width, height, rx: 3 };
  // A second edge says that there is more inside.
  const behind = shown.folded
    ? [element('rect', { ...frame, x: x + 4, y: y + 4, class: `${frame.class} folded` })]
    : [];
  return element(
    'g',
    { class: 'state', 'data-state': path },
    element('title', {}, text(boxTitle(shown))),
    ...behind,
    element('rect', frame),
    ...(shown.children.length > 0 ? [] : blockSvg(words, x + PADDING, y + PADDING - 4)),
  );
}

function headSvg({ text: words, x, y }: PlacedBox): Svg {
  return element('g', { class: 'over' }, ...blockSvg(words, x + PADDING, y + PADDING - 4));
}

/** All of it in words, for a pointer that rests on the box. */
function boxTitle({ state, notes }: PlacedBox['shown']): string {
  const told = notes.flatMap(({ to, ways }) =>
    wordings(ways).map((words) => `${words} → ${to === null ? 'stays' : to}`),
  );
  return [state.path === '' ? state.name : state.path, state.says, ...told]
    .filter((line) => line !== '')
    .join('\n')
    .replaceAll('\n', ' · ');
}

function blockSvg({ lines: all }: TextBlock, x: number, top: number): Svg[] {
  let y = top;
  return all.map((line) => {
    y += LEADING[line.kind];
    return lineSvg(line, x, y - 4);
  });
}

function lineSvg({ text: content, kind, marked }: Line, x: number, y: number): Svg {
  const classes = marked ? `${kind} marked` : kind;
  return element('text', { class: classes, x, y, 'font-size': FONT[kind] }, text(content));
}

function arrowSvg({ arrow, points }: PlacedArrow, marks: Marks | null): Svg {
  const taken = marks?.taken(arrow.ways) ?? false;
  const missed = marks !== null && !taken;
  const classes = `way${taken ? ' taken' : ''}${missed ? ' missed' : ''}`;
  return element(
    'g',
    { class: 'arrow', 'data-from': arrow.from, 'data-to': arrow.to },
    element('title', {}, text(`${arrow.from} → ${arrow.to}: ${wordings(arrow.ways).join(' · ')}`)),
    element('path', { class: classes, d: pathOf(points) }),
    ...tip(points, taken),
  );
}

const CORNER = 5;

function round(value: number): string {
  return String(Math.round(value * 10) / 10);
}

/** Straight pieces with rounded corners. */
function pathOf(points: PlacedArrow['points']): string {
  return points
    .map((point, index) => {
      const before = points[index - 1];
      const after = points[index + 1];
      if (before === undefined) return `M${round(point.x)} ${round(point.y)}`;
      if (after === undefined) return `L${round(point.x)} ${round(point.y)}`;
      const from = towards(point, before);
      const to = towards(point, after);
      const [a, b, c, d] = [from.x, from.y, to.x, to.y].map(round);
      return `L${a} ${b}Q${round(point.x)} ${round(point.y)} ${c} ${d}`;
    })
    .join('');
}

type Point = PlacedArrow['points'][number];

function towards(from: Point, to: Point): Point {
  const length = Math.hypot(to.x - from.x, to.y - from.y);
  const part = length === 0 ? 0 : Math.min(CORNER, length / 2) / length;
  return { x: from.x + (to.x - from.x) * part, y: from.y + (to.y - from.y) * part };
}

/** The head of an arrow: drawn, since markers would need ids. */
function tip(points: PlacedArrow['points'], taken: boolean): Svg[] {
  const end = points.at(-1);
  const before = points.at(-2);
  if (end === undefined || before === undefined) return [];
  const angle = (Math.atan2(end.y - before.y, end.x - before.x) * 180) / Math.PI;
  return [
    element('path', {
      class: taken ? 'tip on' : 'tip',
      d: 'M0 0L-9 4.5L-9 -4.5Z',
      transform: `translate(${end.x} ${end.y}) rotate(${Math.round(angle)})`,
    }),
  ];
}

function labelSvg({ label, arrow }: PlacedArrow): Svg {
  if (label === null) return text('');
  const { x, y, width, height, text: words } = label;
  const plate: Place = { x, y, width, height };
  return element(
    'g',
    { class: 'words', 'data-from': arrow.from, 'data-to': arrow.to },
    element('rect', { class: 'plate', ...plate }),
    ...blockSvg(words, x + 3, y + 2),
  );
}
