// Search and filters of the sequence.
import type { Log } from '../log.ts';
import type { Span } from '../chart/board.ts';

export interface Filters {
  words: string;
  vehicle: boolean;
  charger: boolean;
  /** What other recorders saw, and the connection. */
  records: boolean;
  /** Only what the chart shows. */
  inView: boolean;
  fold: boolean;
}

export const NO_FILTERS: Filters = {
  words: '',
  vehicle: true,
  charger: true,
  records: true,
  inView: false,
  fold: true,
};

/** Meters sample many times a second: their samples are in the chart. */
const SAMPLES = new Set(['voltage', 'current', 'temperature', 'cells', 'isolation']);

/** Text of every row, made when it is first searched. */
const texts = new WeakMap<Log, string[]>();

/** `span`: only rows in it. */
export function rowsOf(log: Log, filters: Filters, span: Span | null): number[] {
  const words = filters.words
    .toLowerCase()
    .split(/\s+/)
    .filter((word) => word !== '');
  const rows: number[] = [];
  for (let row = 0; row < log.length; row += 1) {
    if (!sideShown(log, row, filters)) continue;
    if (span !== null && (log.at[row]! < span.from || log.at[row]! > span.to)) continue;
    if (words.length > 0 && !matches(textOf(log, row), words)) continue;
    rows.push(row);
  }
  return rows;
}

function sideShown(log: Log, row: number, filters: Filters): boolean {
  const { kind, from } = log.head(row);
  if (kind !== 'message') return filters.records && !SAMPLES.has(kind);
  return from === 'vehicle' ? filters.vehicle : filters.charger;
}

/** Every word must be there; `frame:63` is the frame alone. */
function matches(text: string, words: string[]): boolean {
  return words.every((word) => text.includes(word.startsWith('frame:') ? `${word};` : word));
}

function textOf(log: Log, row: number): string {
  let known = texts.get(log);
  if (known === undefined) texts.set(log, (known = []));
  return (known[row] ??= textFor(log, row));
}

function textFor(log: Log, row: number): string {
  const { name, from = '' } = log.head(row);
  const fields = log
    .fieldWords(row)
    .map(([path, value]) => `${path} ${value}`)
    .join(' ');
  return `frame:${log.frames[row]}; ${from} ${name} ${log.says(row)} ${fields}`.toLowerCase();
}
