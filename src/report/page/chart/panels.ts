// The figures of one session, panel by panel, each a set of columns over the times at which any of them was told.
import { unpack } from '../../timeline/pack.ts';
import { SERIES, type SeriesName } from '../../timeline/timeline.ts';
import type { Log } from '../log.ts';

/** What a line means is said by its stroke as well as by its colour. */
export type Stroke = 'vehicle' | 'charger' | 'measured' | 'vehicle limit' | 'charger limit';

export interface Line {
  name: SeriesName;
  says: string;
  stroke: Stroke;
  /** Lengths of strokes and gaps; none for a full line. */
  dash: number[];
  /** Null where nothing was known any more. */
  values: (number | null)[];
}

export interface Panel {
  title: string;
  unit: string;
  /** Seconds from the file's epoch. */
  at: Float64Array;
  lines: Line[];
}

/** What is reported counts until the next report, at most so long: three cycles of a slow dialogue. */
const LIVES_s = 3;

export function panelsOf(log: Log): Panel[] {
  const panels = new Map<string, SeriesName[]>();
  for (const name of Object.keys(SERIES) as SeriesName[]) {
    if (log.packed.series[name] === undefined) continue;
    const { panel } = SERIES[name];
    panels.set(panel, [...(panels.get(panel) ?? []), name]);
  }
  return [...panels].map(([title, names]) => panelOf(title, names, log));
}

function panelOf(title: string, names: SeriesName[], log: Log): Panel {
  const told = names.map((name) => {
    const { rows, values } = log.packed.series[name]!;
    return { rows: unpack(rows) as number[], values: unpack(values) as number[] };
  });
  const rows = union(told.map((one) => one.rows));
  const at = Float64Array.from(rows, (row) => log.at[row]!);
  return {
    title,
    unit: SERIES[names[0]!].unit,
    at,
    lines: names.map((name, index) => ({
      name,
      says: SERIES[name].says,
      stroke: strokeOf(name),
      dash: dashOf(name, names),
      values: held(rows, at, told[index]!, isLimit(name) ? Infinity : LIVES_s),
    })),
  };
}

function union(lists: number[][]): number[] {
  if (lists.length === 1) return lists[0]!;
  return [...new Set(lists.flat())].sort((a, b) => a - b);
}

/** Each value held until the next, or until it no longer counts. */
function held(
  rows: number[],
  at: Float64Array,
  told: { rows: number[]; values: number[] },
  lives_s: number,
): (number | null)[] {
  let next = 0;
  let value: number | null = null;
  let since = 0;
  return rows.map((row, index) => {
    while (next < told.rows.length && told.rows[next]! <= row) {
      value = told.values[next]!;
      since = at[index]!;
      next += 1;
    }
    if (value !== null && at[index]! - since > lives_s) value = null;
    return value;
  });
}

/** What the sides say and their limits have one pattern each; what was measured has one of its own in its panel. */
const DASHES: Readonly<Record<Exclude<Stroke, 'measured'>, number[]>> = {
  vehicle: [7, 3],
  charger: [],
  'vehicle limit': [1.5, 4],
  'charger limit': [1.5, 4],
};
const MEASURED_DASHES = [[], [10, 3, 2, 3], [4, 2], [14, 4], [2, 2], [6, 2, 1, 2]];

function dashOf(name: SeriesName, names: SeriesName[]): number[] {
  const stroke = strokeOf(name);
  if (stroke !== 'measured') return DASHES[stroke];
  const measured = names.filter((one) => strokeOf(one) === 'measured');
  return MEASURED_DASHES[measured.indexOf(name) % MEASURED_DASHES.length]!;
}

const isLimit = (name: SeriesName): boolean => name.endsWith('Limit');

function strokeOf(name: SeriesName): Stroke {
  if (isLimit(name)) return name.startsWith('vehicle') ? 'vehicle limit' : 'charger limit';
  if (name.startsWith('asked') || name === 'stateOfCharge') return 'vehicle';
  return name.startsWith('present') || name === 'power' ? 'charger' : 'measured';
}
