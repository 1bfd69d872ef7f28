// A session's message sequence as SVG: two lifelines, time and frame at the left, findings between.
import type { Side } from '../../trace/observation.ts';
import { cut, textWidth, wrap } from './measure.ts';
import type { SequenceRow } from './sequence-rows.ts';
import { element, style, text, type Svg } from './svg.ts';
import { styleSheet, type Theme } from './theme.ts';

export interface SequenceSheet {
  readonly id: string;
  readonly theme: Theme;
  readonly title: string;
  readonly subtitles: readonly string[];
  readonly foot: readonly string[];
}

const MARGIN = 16;
/** Where the columns are. */
const TIME = 80;
const FRAME = 132;
const LIFE: Readonly<Record<Side, number>> = { vehicle: 200, charger: 680 };
const WIDTH = 740;
const MIDDLE = (LIFE.vehicle + LIFE.charger) / 2;
const ROOM = LIFE.charger - LIFE.vehicle - 24;

interface Drawn {
  readonly height: number;
  readonly svg: Svg[];
}

export function sequenceSvg(rows: readonly SequenceRow[], sheet: SequenceSheet): string {
  const titles = wrap(sheet.title, 18, (WIDTH - 2 * MARGIN) * 0.88);
  const head = sheet.subtitles.flatMap((line) => wrap(line, 12, WIDTH - 2 * MARGIN));
  const top = MARGIN + titles.length * 24 + head.length * 16 + 12;
  const begin = top + 30;
  let y = begin + 8;
  const drawn: Svg[] = [];
  for (const row of rows) {
    const { height, svg } = drawRow(row);
    drawn.push(element('g', { transform: `translate(0 ${y})` }, ...svg));
    y += height;
  }
  const end = y + 8;
  const foot = sheet.foot.flatMap((line) => wrap(line, 11, WIDTH - 2 * MARGIN));
  const height = end + 20 + foot.length * 15 + MARGIN;
  const { svg } = element(
    'svg',
    {
      xmlns: 'http://www.w3.org/2000/svg',
      id: sheet.id,
      width: WIDTH,
      height,
      viewBox: `0 0 ${WIDTH} ${Math.ceil(height)}`,
      role: 'img',
      'aria-labelledby': `${sheet.id}-title`,
    },
    element('title', { id: `${sheet.id}-title` }, text(sheet.title)),
    style(styleSheet(sheet.id, sheet.theme)),
    element('rect', { class: 'paper', width: '100%', height: '100%' }),
    ...block(titles, 'title', 18, MARGIN, MARGIN + 18, 24),
    ...block(head, 'sub', 12, MARGIN, MARGIN + titles.length * 24 + 12, 16),
    ...lifeline('vehicle', top, begin, end),
    ...lifeline('charger', top, begin, end),
    label('s', TIME, top + 18, { class: 'note', 'text-anchor': 'end' }),
    label('frame', FRAME, top + 18, { class: 'note', 'text-anchor': 'end' }),
    ...drawn,
    ...block(foot, 'note', 11, MARGIN, end + 31, 15),
  );
  return `${svg}\n`;
}

/** Each side has its own shape: the vehicle a rounded plate, the charger a square one. */
function lifeline(side: Side, top: number, begin: number, end: number): Svg[] {
  const x = LIFE[side];
  const frame = { class: 'box', x: x - 40, y: top, width: 80, height: 26 };
  return [
    element('line', { class: 'life', x1: x, y1: begin, x2: x, y2: end }),
    element('rect', { ...frame, rx: side === 'vehicle' ? 13 : 1 }),
    label(side, x, top + 18, { class: `name ${side}`, 'text-anchor': 'middle' }, 13),
  ];
}

function drawRow(row: SequenceRow): Drawn {
  switch (row.kind) {
    case 'message':
      return message(row);
    case 'event':
      return plate(row, row.says);
    case 'repeats':
      return repeats(row.says);
    case 'finding':
      return finding(row.says, row.finding.status);
    default:
      return between(row.says);
  }
}

function message(row: Extract<SequenceRow, { kind: 'message' }>): Drawn {
  const { from, name, marks, says } = row;
  const to = from === 'vehicle' ? 'charger' : 'vehicle';
  const towards = from === 'vehicle' ? -1 : 1;
  const named = cut(name, 12, ROOM * 0.6);
  const start = LIFE.vehicle + 12;
  const beside = textWidth(named, 12, true) + 10;
  const lines = wrap(says, 11, ROOM - beside, 2);
  const y = 18 + Math.max(0, lines.length - 1) * 14 + 6;
  const end = LIFE[to] + towards * 2;
  return {
    height: y + 10,
    svg: [
      ...when(row, 16),
      label(named, start, 16, { class: `name ${from}` }, 12),
      ...block(lines, 'says', 11, start + beside, 16, 14),
      element('path', { class: `from-${from}`, d: `M${LIFE[from]} ${y}H${end}` }),
      element('path', {
        class: from,
        d: `M${end} ${y}l${towards * 9} -4.5v9Z`,
      }),
      ...(marks.length === 0
        ? []
        : [
            element('path', {
              class: 'cross',
              d: `M${LIFE[from] - towards * 6} ${y - 6}l${towards * 12} 12m0 -12l${-towards * 12} 12`,
            }),
          ]),
    ],
  };
}

function when({ at, frame }: { at: number; frame: number | null }, y: number): Svg[] {
  const quiet = { class: 'note', 'text-anchor': 'end' };
  return [
    label(at.toFixed(3), TIME, y, quiet),
    ...(frame === null ? [] : [label(String(frame), FRAME, y, quiet)]),
  ];
}

/** What another recorder saw, on a plate over both lifelines. */
function plate(row: { at: number; frame: number | null }, says: string): Drawn {
  const lines = wrap(says, 11, ROOM - 60, 3);
  const height = lines.length * 14 + 8;
  const width = Math.max(...lines.map((line) => textWidth(line, 11))) + 20;
  return {
    height: height + 8,
    svg: [
      ...when(row, 17),
      element('rect', { class: 'seen', x: MIDDLE - width / 2, y: 2, width, height, rx: 2 }),
      ...block(lines, 'says', 11, MIDDLE, 16, 14, 'middle'),
    ],
  };
}

/** A bracket that stands for many exchanges. */
function repeats(says: string): Drawn {
  const lines = wrap(says, 11, ROOM - 40, 3);
  const height = lines.length * 14 + 14;
  const [left, right] = [LIFE.vehicle + 8, LIFE.charger - 8];
  return {
    height: height + 10,
    svg: [
      element('path', {
        class: 'way',
        d: `M${left + 8} 3H${left}V${height}H${left + 8}M${right - 8} 3H${right}V${height}H${right - 8}`,
      }),
      ...block(lines, 'says', 11, MIDDLE, 19, 14, 'middle'),
    ],
  };
}

function finding(says: string, status: string): Drawn {
  const left = FRAME - 40;
  const width = WIDTH - MARGIN - left;
  const lines = wrap(says, 11.5, width - 42);
  const height = lines.length * 15 + 12;
  const sign = status === 'breach' ? '✕' : '?';
  return {
    height: height + 10,
    svg: [
      element('rect', { class: 'finding', x: left, y: 2, width, height, rx: 2 }),
      label(sign, left + 15, 19, { class: 'broken name', 'text-anchor': 'middle' }, 13),
      ...block(lines, 'finding-words', 11.5, left + 30, 19, 15),
    ],
  };
}

function between(says: string): Drawn {
  const width = textWidth(says, 11);
  return {
    height: 26,
    svg: [
      element('line', {
        class: 'gap',
        x1: LIFE.vehicle,
        y1: 13,
        x2: MIDDLE - width / 2 - 8,
        y2: 13,
      }),
      label(says, MIDDLE, 17, { class: 'note', 'text-anchor': 'middle' }),
      element('line', {
        class: 'gap',
        x1: MIDDLE + width / 2 + 8,
        y1: 13,
        x2: LIFE.charger,
        y2: 13,
      }),
    ],
  };
}

function label(
  content: string,
  x: number,
  y: number,
  attributes: Readonly<Record<string, string>>,
  size = 11,
): Svg {
  return element('text', { ...attributes, x, y, 'font-size': size }, text(content));
}

function block(
  lines: readonly string[],
  kind: string,
  size: number,
  x: number,
  top: number,
  leading: number,
  anchor?: string,
): Svg[] {
  return lines.map((line, index) =>
    element(
      'text',
      { class: kind, x, y: top + index * leading, 'font-size': size, 'text-anchor': anchor },
      text(line),
    ),
  );
}
