// A meter's or pilot recorder's CSV log as a trace.
import { ClockWatch } from './clock.ts';
import { CsvRow } from './csv-row.ts';
import { CsvLayout, type LayoutColumn } from './csv-layout.ts';
import { InputError } from './input-error.ts';
import { type LineBlock, lineBlocks } from './lines.ts';
import type { Observation, OpenTrace } from './observation.ts';
import { shown } from './schema.ts';
import { instantOf, instantText, REACH_ns, REACH_s } from './time.ts';

type Blocks = AsyncGenerator<LineBlock, void, void>;

const LINE_CAP_BYTES = 1024 * 1024;
/** Headings named in the note on columns that are not read. */
const UNREAD_TOLD = 20;

/**
 * Opens a CSV log: a heading line, then one row an instant; columns are separated by `;`, tab or `,`, whichever of them
 * the heading has first in this order, and with `;` a decimal comma is read too. CSV_COLUMNS tells the columns; the time
 * is `time_s` (seconds from the log's start, epoch null) or `time` (ISO 8601 with Z or an offset; the first row is the
 * epoch). Every cell that is filled is an observation; an empty one is none. `name` stands in messages and names the
 * recorder.
 *
 * Columns of other names are told in one note and not read; times that step back are told as openTrace tells them.
 * Throws InputError naming line and column at the first cell that cannot be read, after the rows before it; a last row
 * that breaks off is a note with problem `cut`.
 */
export async function openCsv(source: AsyncIterable<Uint8Array>, name: string): Promise<OpenTrace> {
  const blocks = lineBlocks(source, LINE_CAP_BYTES);
  try {
    const head = await nextFilled(blocks, name, undefined);
    if (head === undefined) throw noRows(name);
    const layout = new CsvLayout(head.lines[0]!, name, head.first);
    const rest = { ...head, first: head.first + 1, lines: head.lines.slice(1) };
    const rows = await nextFilled(blocks, name, rest);
    if (rows === undefined) throw noRows(name);
    const epoch_ns = epochFrom(rows, layout);
    const epoch = epoch_ns === null ? null : instantText(epoch_ns);
    const header = { handfast: 'trace', version: 1, epoch, recorder: name } as const;
    return { header, observations: batches(rows, blocks, layout, epoch_ns ?? 0n) };
  } catch (error) {
    await blocks.return();
    throw error;
  }
}

async function* batches(
  first: LineBlock,
  blocks: Blocks,
  layout: CsvLayout,
  epoch_ns: bigint,
): AsyncGenerator<Observation[], void, void> {
  const reader = new RowReader(layout, epoch_ns);
  try {
    let block: LineBlock | undefined = first;
    while (block !== undefined) {
      const batch = reader.read(block);
      if (batch.length > 0) yield batch;
      if (reader.stopped !== null) throw reader.stopped;
      block = await nextFilled(blocks, layout.file, undefined);
    }
  } finally {
    await blocks.return();
  }
}

/** The block, or the next one, from its first line that is not blank. */
async function nextFilled(
  blocks: Blocks,
  file: string,
  given: LineBlock | undefined,
): Promise<LineBlock | undefined> {
  for (
    let block = given ?? (await blocks.next()).value;
    block;
    block = (await blocks.next()).value
  ) {
    if (block.overlong) {
      const place = { file, line: block.first };
      throw new InputError('the line is too long for a CSV log', place, 'is this a CSV file?');
    }
    const index = block.lines.findIndex((line) => line.trim() !== '');
    if (index < 0) continue;
    return { ...block, first: block.first + index, lines: block.lines.slice(index) };
  }
  return undefined;
}

function noRows(file: string): InputError {
  return new InputError('the log holds no readings', { file }, 'a heading line, then rows');
}

/** The wall-clock time of the first row; null when the log counts seconds. */
function epochFrom(rows: LineBlock, layout: CsvLayout): bigint | null {
  if (layout.seconds) return null;
  const cells = layout.cellsOf(rows.lines.slice(0, 1), rows.first)[0]!;
  return instantIn(cells[layout.timeIndex] ?? '', layout.file, rows.first);
}

class RowReader {
  /** Why the log was given up, once it was. */
  stopped: InputError | null = null;
  private readonly layout: CsvLayout;
  private readonly epoch_ns: bigint;
  private readonly clock = new ClockWatch();
  private readonly row = new CsvRow();
  private told = false;

  constructor(layout: CsvLayout, epoch_ns: bigint) {
    this.layout = layout;
    this.epoch_ns = epoch_ns;
  }

  read(block: LineBlock): Observation[] {
    try {
      const rows = this.layout.cellsOf(block.lines, block.first);
      for (const [index, cells] of rows.entries()) {
        const line = block.first + index;
        const unended = block.unended && index === rows.length - 1;
        if (cells.some((cell) => cell !== '')) this.take(cells, line, unended);
      }
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
      this.stopped = error;
    }
    return this.row.taken();
  }

  private take(cells: string[], line: number, unended: boolean): void {
    const { layout, row, clock } = this;
    const { width, file } = layout;
    if (unended && cells.length < width) {
      const says = `line ${line}: the log breaks off inside it`;
      row.push({ kind: 'note', at_ns: clock.last_ns, says, problem: 'cut' });
      return;
    }
    if (cells.length < width || cells.slice(width).some((cell) => cell !== '')) {
      const what = `${cells.length} cells where the heading has ${width}`;
      const mend = 'one cell a column; a decimal comma needs ; between the columns';
      throw new InputError(what, { file, line }, mend);
    }
    const at_ns = this.timeIn(cells[layout.timeIndex]!, line);
    const step = clock.next(at_ns, line);
    if (step !== null) row.push(step);
    row.begin(at_ns);
    if (!this.told) this.tellUnread();
    for (const bound of layout.columns) {
      const cell = cells[bound.index]!;
      if (cell !== '') this.add(cell, bound, line);
    }
  }

  private add(cell: string, { column, scale, heading }: LayoutColumn, line: number): void {
    if (column.form === 'word') {
      const word = column.words.get(cell) ?? column.words.get(cell.toLowerCase());
      if (word === undefined) {
        throw this.fault(heading, cell, line, `one of ${[...column.words.keys()].join(', ')}`);
      }
      column.add(this.row, word);
      return;
    }
    const { least, most } = column;
    const value = this.layout.numberOf(cell, scale);
    if (value === null) throw this.fault(heading, cell, line, 'a number');
    if (value < least || value > most) {
      const range = most === Infinity ? `at least ${least}` : `from ${least} to ${most}`;
      throw this.fault(heading, cell, line, range);
    }
    column.add(this.row, value);
  }

  private timeIn(cell: string, line: number): number {
    const { layout } = this;
    let at_ns: number | null;
    if (layout.seconds) {
      at_ns = layout.numberOf(cell, 9);
      if (at_ns === null) throw this.fault('time_s', cell, line, 'a number');
      // Adding 0 turns -0 into 0.
      at_ns = Math.round(at_ns) + 0;
    } else {
      at_ns = Number(instantIn(cell, layout.file, line) - this.epoch_ns);
    }
    if (Math.abs(at_ns) < REACH_ns) return at_ns;
    const what = `${shown(cell)} is more than ${REACH_s} s from the start`;
    const mend = 'take the start off time_s, or give wall-clock times in a column time';
    throw new InputError(what, { file: layout.file, line }, mend);
  }

  private tellUnread(): void {
    this.told = true;
    const { unread } = this.layout;
    if (unread.length === 0) return;
    const more = unread.length > UNREAD_TOLD ? ` and ${unread.length - UNREAD_TOLD} more` : '';
    const says = `columns not read: ${unread.slice(0, UNREAD_TOLD).map(shown).join(', ')}${more}`;
    this.row.push({ kind: 'note', at_ns: this.row.at_ns, says });
  }

  private fault(heading: string, cell: string, line: number, wanted: string): InputError {
    const { file } = this.layout;
    return new InputError(
      `column ${heading}: ${shown(cell)} is not ${wanted}`,
      { file, line },
      'mend the cell, or leave it empty where nothing was read',
    );
  }
}

function instantIn(cell: string, file: string, line: number): bigint {
  const instant_ns = instantOf(cell);
  if (instant_ns !== null) return instant_ns;
  const mend = 'ISO 8601 with Z or an offset, such as 2026-11-25T09:00:00.250+01:00';
  throw new InputError(`column time: ${shown(cell)} is not a time`, { file, line }, mend);
}
