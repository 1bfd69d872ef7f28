// The heading line of a CSV log, and how its rows are split.
import { parse } from 'csv-parse/sync';
import { type BoundColumn, columnNamed, columnNames, CSV_COLUMNS } from './csv-columns.ts';
import { InputError } from './input-error.ts';

const COLUMNS_CAP = 1000;
const NUMBER = /^[+-]?(?:\d+\.?\d*|\.\d+)(?:([eE])[+-]?\d+)?$/;

export interface LayoutColumn extends BoundColumn {
  index: number;
  heading: string;
}

/** What the heading line says of the rows. */
export class CsvLayout {
  readonly file: string;
  readonly width: number;
  readonly timeIndex: number;
  /** The time counts seconds from the log's start; else it is wall-clock time. */
  readonly seconds: boolean;
  /** In the order of CSV_COLUMNS. */
  readonly columns: LayoutColumn[];
  /** Headings of columns that are not read. */
  readonly unread: string[];
  private readonly delimiter: string;

  constructor(headingLine: string, file: string, line: number) {
    this.file = file;
    this.delimiter = [';', '\t', ','].find((mark) => headingLine.includes(mark)) ?? ',';
    const headings = this.cellsOf([headingLine], line)[0]!;
    const fault = (what: string): InputError =>
      new InputError(`the heading has ${what}`, { file, line }, `columns are ${columnNames()}`);
    if (headings.length > COLUMNS_CAP) throw fault(`more than ${COLUMNS_CAP} columns`);
    this.width = headings.length;
    const times = headings.filter(isTime);
    if (times.length !== 1) throw fault(times.length === 0 ? 'no time column' : 'two time columns');
    this.timeIndex = headings.findIndex(isTime);
    this.seconds = times[0] === 'time_s';
    this.columns = bind(headings);
    this.unread = headings.filter((name) => name !== '' && !isTime(name) && !columnNamed(name));
    if (this.columns.length === 0) throw fault('no column to read');
    const names = new Set<string>();
    for (const [index, { column }] of this.columns.entries()) {
      // In the order of CSV_COLUMNS, so that two headings of one column stand together.
      if (this.columns[index - 1]?.column === column) throw fault(`two columns for ${column.name}`);
      names.add(column.name);
    }
    if (names.has('duty') && !names.has('pilot')) {
      throw fault('a duty cycle without a column pilot or pilot_V');
    }
  }

  /** Rows of cells without blanks around them, one a line. Throws InputError where a quote does not end on its line. */
  cellsOf(lines: string[], first: number): string[][] {
    const quoted = lines.some((line) => line.includes('"'));
    // Loggers hardly ever quote, and a plain split reads the whole log 2.7 times as fast (measured).
    const rows = quoted
      ? this.quotedCellsOf(lines, first)
      : lines.map((line) => line.split(this.delimiter));
    for (const cells of rows) {
      for (let index = 0; index < cells.length; index += 1) cells[index] = cells[index]!.trim();
    }
    return rows;
  }

  private quotedCellsOf(lines: string[], first: number): string[][] {
    let failedOn = 0;
    try {
      const rows = parse(`${lines.join('\n')}\n`, {
        delimiter: this.delimiter,
        record_delimiter: ['\r\n', '\n'],
        relax_column_count: true,
        trim: true,
      });
      if (rows.length === lines.length) return rows;
    } catch (error) {
      failedOn = ((error as { lines?: number }).lines ?? 1) - 1;
    }
    // A quote left open shows only where the next one closes it, lines later.
    const open = lines.findIndex((line) => line.split('"').length % 2 === 0);
    const line = first + (open >= 0 ? open : failedOn);
    const mend = 'close the quote on the same line, and double quotes inside quotes';
    throw new InputError('a quoted cell cannot be read', { file: this.file, line }, mend);
  }

  /** The number in a cell times 10^scale, to the nearest double; null when it is none. */
  numberOf(cell: string, scale: number): number | null {
    const text = this.delimiter === ';' ? cell.replace(',', '.') : cell;
    const parts = NUMBER.exec(text);
    if (parts === null) return null;
    // The power of ten joins the text, so that 0.4001 kV is 400.1 V and not 400.09999999999997 V.
    const value = parts[1] === undefined ? Number(`${text}e${scale}`) : Number(text) * 10 ** scale;
    return Number.isFinite(value) ? value : null;
  }
}

function isTime(heading: string): boolean {
  return heading === 'time_s' || heading === 'time';
}

function bind(headings: string[]): LayoutColumn[] {
  const columns: LayoutColumn[] = [];
  for (const [index, heading] of headings.entries()) {
    const bound = columnNamed(heading);
    if (bound !== undefined) columns.push({ ...bound, index, heading });
  }
  const place = ({ column }: LayoutColumn): number => CSV_COLUMNS.indexOf(column);
  return columns.sort((a, b) => place(a) - place(b));
}
