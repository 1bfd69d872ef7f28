// Bands over time for what is one of few words: stages, consents, isolation, pilot, contactors, lock.
import { LANES, type LaneName } from '../../timeline/timeline.ts';
import type { Log } from '../log.ts';
import type { Colours } from './colours.ts';

export interface Lane {
  name: LaneName;
  says: string;
  side: 'vehicle' | 'charger' | null;
  /** Seconds at which the word changes. */
  from: number[];
  words: string[];
  /** The end of the last one. */
  to: number;
}

export function lanesOf(log: Log): Lane[] {
  return (Object.keys(LANES) as LaneName[]).flatMap((name): Lane[] => {
    const lane = log.packed.lanes[name];
    if (lane === undefined) return [];
    const side = name.startsWith('vehicle')
      ? 'vehicle'
      : name.startsWith('charger')
        ? 'charger'
        : null;
    const from = lane.rows.map((row) => log.at[row]!);
    return [
      { name, says: LANES[name], side, from, words: lane.words, to: log.at[log.length - 1]! },
    ];
  });
}

/** What a lane says at a time. */
export function wordAt(lane: Lane, at: number): string | null {
  const index = lane.from.findLastIndex((from) => from <= at + 1e-9);
  return index < 0 ? null : lane.words[index]!;
}

/** How much a band is filled: the more power may flow, the fuller. Other words alternate. */
const FILL: Readonly<Record<string, number>> = {
  none: 0,
  untested: 0,
  unknown: 0,
  withdrawn: 0.12,
  test: 0.3,
  testing: 0.3,
  approach: 0.55,
  power: 0.85,
  valid: 0.55,
  closed: 0.55,
  'closed (inferred)': 0.55,
  locked: 0.55,
};

/** Height of a lane; on a narrow screen its name stands above its band. */
export const LANE_HEIGHT = 20;
export const NARROW_LANE_HEIGHT = 36;

interface Canvas {
  pen: CanvasRenderingContext2D;
  width: number;
  x: (at: number) => number;
  colours: Colours;
}

export function drawLane(lane: Lane, top: number, canvas: Canvas): void {
  const { pen, width, x, colours } = canvas;
  const colour = lane.side === null ? colours.ink : colours[lane.side];
  for (const [index, from] of lane.from.entries()) {
    const left = Math.max(0, x(from));
    const right = Math.min(width, x(lane.from[index + 1] ?? lane.to));
    if (right <= 0 || left >= width) continue;
    drawBand(lane.words[index]!, index, { left, right, top }, colour, canvas);
  }
  pen.globalAlpha = 1;
}

function drawBand(
  word: string,
  index: number,
  { left, right, top }: { left: number; right: number; top: number },
  colour: string,
  { pen, colours }: Canvas,
): void {
  const height = LANE_HEIGHT - 4;
  const wide = Math.max(1, right - left);
  const fill = FILL[word] ?? (index % 2 === 0 ? 0.14 : 0.34);
  pen.globalAlpha = 1;
  pen.strokeStyle = colour;
  pen.lineWidth = 1;
  pen.setLineDash(word === 'unknown' || word === 'withdrawn' || word === 'any' ? [2, 3] : []);
  pen.strokeRect(left + 0.5, top + 2.5, Math.max(1, wide - 1), height - 1);
  pen.setLineDash([]);
  pen.globalAlpha = fill * 0.45;
  pen.fillStyle = colour;
  pen.fillRect(left, top + 2, wide, height);
  pen.globalAlpha = 1;
  if (wide < 24) return;
  pen.fillStyle = colours.ink;
  pen.textBaseline = 'middle';
  const room = wide - 8;
  const text = fitted(word, room, pen);
  if (text !== '') pen.fillText(text, left + 4, top + 2 + height / 2 + 0.5);
}

/** Cut with an ellipsis; nothing where not even four letters fit. */
function fitted(word: string, room: number, pen: CanvasRenderingContext2D): string {
  if (pen.measureText(word).width <= room) return word;
  for (let length = word.length - 1; length >= 4; length -= 1) {
    const text = `${word.slice(0, length)}…`;
    if (pen.measureText(text).width <= room) return text;
  }
  return '';
}
