// Fewer points than a screen can show tell nothing less: of every stretch its lowest and highest value are drawn.
import type { Panel } from './panels.ts';

/** Times, then one column for each line, as the drawing library takes them. */
export type Drawn = [number[], ...(number | null)[][]];

/** The points of a panel between two times, and the ones next to them, in at most `stretches` pairs. */
export function reduce(panel: Panel, from: number, to: number, stretches: number): Drawn {
  const first = Math.max(0, firstAfter(panel.at, from) - 1);
  const last = Math.min(panel.at.length - 1, firstAfter(panel.at, to));
  const amount = last - first + 1;
  if (amount <= 2 * stretches) {
    return steps([
      Array.from(panel.at.subarray(first, last + 1)),
      ...panel.lines.map(({ values }) => values.slice(first, last + 1)),
    ]);
  }
  const size = Math.ceil(amount / stretches);
  const times: number[] = [];
  for (let start = first; start <= last; start += size) {
    times.push(panel.at[start]!, panel.at[Math.min(last, start + size - 1)]!);
  }
  return steps([times, ...panel.lines.map(({ values }) => extremes(values, first, last, size))]);
}

/** Without the points at which no line takes a step: the lines are drawn level between points. */
function steps(drawn: Drawn): Drawn {
  const [times, ...lines] = drawn;
  const kept: number[] = [];
  for (let index = 0; index < times.length; index += 1) {
    const ends = index === 0 || index === times.length - 1;
    if (ends || lines.some((values) => values[index] !== values[index - 1])) kept.push(index);
  }
  if (kept.length === times.length) return drawn;
  return [
    kept.map((index) => times[index]!),
    ...lines.map((values) => kept.map((index) => values[index]!)),
  ];
}

/** Two values a stretch, in the order in which they came; null where nothing was known in all of it. */
function extremes(
  values: (number | null)[],
  first: number,
  last: number,
  size: number,
): (number | null)[] {
  const drawn: (number | null)[] = [];
  for (let start = first; start <= last; start += size) {
    const end = Math.min(last, start + size - 1);
    let [low, high] = [-1, -1];
    for (let index = start; index <= end; index += 1) {
      const value = values[index];
      if (value === null || value === undefined) continue;
      if (low < 0 || value < values[low]!) low = index;
      if (high < 0 || value > values[high]!) high = index;
    }
    if (low < 0) drawn.push(null, null);
    else drawn.push(values[Math.min(low, high)]!, values[Math.max(low, high)]!);
  }
  return drawn;
}

/** Index of the first time after `at`; the length when there is none. */
export function firstAfter(times: Float64Array, at: number): number {
  let [low, high] = [0, times.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (times[middle]! > at) high = middle;
    else low = middle + 1;
  }
  return low;
}
