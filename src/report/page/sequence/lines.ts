// Which rows the sequence shows: those that pass the filters, long runs of the same exchange folded into one line.
import type { Log } from '../log.ts';

interface Row {
  kind: 'row';
  row: number;
}

export interface Fold {
  kind: 'fold';
  /** First and last row of what is folded. */
  first: number;
  last: number;
  exchanges: number;
  request: string;
}

export type Line = Row | Fold;

/** Exchanges shown before and after a fold; shorter runs are not folded. */
const SHOWN = 2;
const FOLD_FROM = 4;

/** `rows` in order; `keep`: rows that are never folded away; `open`: first rows of folds that were opened. */
export function linesOf(
  log: Log,
  rows: readonly number[],
  keep: ReadonlySet<number>,
  open: ReadonlySet<number>,
): Line[] {
  const lines: Line[] = [];
  let index = 0;
  while (index < rows.length) {
    const run = exchangesFrom(log, rows, index, keep);
    if (run < SHOWN * 2 + FOLD_FROM) {
      lines.push({ kind: 'row', row: rows[index]! });
      index += 1;
      continue;
    }
    const start = index + SHOWN * 2;
    const end = index + (run - SHOWN) * 2;
    for (let at = index; at < start; at += 1) lines.push({ kind: 'row', row: rows[at]! });
    const first = rows[start]!;
    if (open.has(first)) {
      for (let at = start; at < end; at += 1) lines.push({ kind: 'row', row: rows[at]! });
    } else {
      const last = rows[end - 1]!;
      const exchanges = (end - start) / 2;
      lines.push({ kind: 'fold', first, last, exchanges, request: log.head(first).name });
    }
    for (let at = end; at < end + SHOWN * 2; at += 1) lines.push({ kind: 'row', row: rows[at]! });
    index = end + SHOWN * 2;
  }
  return lines;
}

/** How many exchanges of one request and its answer follow each other from a row on. */
function exchangesFrom(
  log: Log,
  rows: readonly number[],
  start: number,
  keep: ReadonlySet<number>,
): number {
  const request = log.head(rows[start]!).name;
  if (!request.endsWith('Req')) return 0;
  const answer = `${request.slice(0, -3)}Res`;
  let index = start;
  while (index + 1 < rows.length) {
    const [a, b] = [rows[index]!, rows[index + 1]!];
    if (keep.has(a) || keep.has(b)) break;
    if (log.head(a).name !== request || log.head(b).name !== answer) break;
    index += 2;
  }
  return (index - start) / 2;
}

/** The line that shows a row, or the fold it is in; -1 where a filter hides it. */
export function lineOf(lines: readonly Line[], row: number): number {
  let [low, high] = [0, lines.length - 1];
  while (low <= high) {
    const middle = (low + high) >> 1;
    const line = lines[middle]!;
    const [first, last] = line.kind === 'row' ? [line.row, line.row] : [line.first, line.last];
    if (row < first) high = middle - 1;
    else if (row > last) low = middle + 1;
    else return middle;
  }
  return -1;
}
