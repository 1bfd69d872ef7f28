// The dialogue, message by message: the vehicle's on the left of the spine, the charger's on its right, time running
// down. Only the lines in sight are in the page.
import type { RefObject } from 'preact';
import { useEffect, useMemo, useRef, useState } from 'preact/hooks';
import type { SessionResult } from '../../../rules/result.ts';
import { count, seconds } from '../../figures.ts';
import type { Span } from '../chart/board.ts';
import type { Log } from '../log.ts';
import { answersOf } from './answers.ts';
import { Detail } from './detail.tsx';
import { FilterBar } from './filter-bar.tsx';
import { NO_FILTERS, rowsOf } from './filters.ts';
import { lineOf, linesOf, type Line } from './lines.ts';
import { FoldLine, RowLine } from './row.tsx';
import { useWindow } from './window.ts';

export interface SequenceHandle {
  /** Brings a row into sight; whatever hides it is taken off. */
  show(row: number, focus: boolean): void;
}

interface SequenceProps {
  log: Log;
  session: SessionResult;
  /** The selected row: its content is shown below it. */
  row: number | null;
  onRow: (row: number | null) => void;
  handle: RefObject<SequenceHandle | null>;
  /** What the chart shows. */
  span: Span | null;
}

export function Sequence(props: SequenceProps) {
  const { log, session, row, onRow } = props;
  const answers = useMemo(() => answersOf(log), [log]);
  const flags = useMemo(() => flagsOf(log, session), [log, session]);
  const keep = useMemo(() => new Set([...flags.keys(), ...answers.unanswered]), [flags, answers]);
  const list = useList(props, keep);
  const { lines, view, current, expanded, unfold } = list;
  const lineAt = (index: number) => {
    const line = lines[index];
    if (line === undefined) return null;
    const place = { top: view.top(index), height: view.rowHeight };
    const common = { log, place, current: index === current };
    if (line.kind === 'fold') {
      const onOpen = () => unfold(line.first);
      return <FoldLine key={`f${line.first}`} {...common} fold={line} onOpen={onOpen} />;
    }
    return (
      <RowLine
        key={line.row}
        {...common}
        row={line.row}
        before={rowBefore(lines, index)}
        answers={answers}
        flags={flags.get(line.row) ?? []}
        onSelect={() => onRow(line.row === row ? null : line.row)}
      >
        {index === expanded && (
          <Detail log={log} row={line.row} onRow={list.select} onSize={view.setDetail} />
        )}
      </RowLine>
    );
  };
  return (
    <section class="sheet sequence" aria-labelledby="sequence">
      <header class="bar-head">
        <h2 id="sequence">Message by message</h2>
        <span class="quiet" aria-live="polite">
          {amountWords(lines, log)}
        </span>
      </header>
      <FilterBar filters={list.filters} onFilters={list.setFilters} />
      <div class="sides" aria-hidden="true">
        <span class="of-vehicle">vehicle</span>
        <span class="of-charger">charger</span>
      </div>
      <div
        class="scroller"
        ref={view.scroller}
        tabIndex={0}
        role="group"
        aria-label="Messages. Up and down go from message to message, Escape closes one."
        onScroll={view.onScroll}
        onKeyDown={list.onKeyDown}
      >
        <ol style={{ height: `${view.height}px` }}>{view.range.map(lineAt)}</ol>
        {lines.length === 0 && <p class="empty">No message is like that.</p>}
      </div>
      <p class="unseen" aria-live="polite">
        {row !== null && `${log.from(row) ?? ''} ${log.head(row).name}, ${log.says(row)}`}
      </p>
      {log.packed.omitted > 0 && (
        <p class="hint">
          {count(log.packed.omitted, 'further observation')} of this session are not shown; the
          verdict counts them.
        </p>
      )}
    </section>
  );
}

/** The lines as filtered and folded, which of them is current, and what moves through them. */
function useList({ log, row, onRow, handle, span }: SequenceProps, keep: ReadonlySet<number>) {
  const [filters, setFilters] = useState(NO_FILTERS);
  const [opened, setOpened] = useState<ReadonlySet<number>>(new Set());
  const shown = filters.inView ? span : null;
  const lines = useMemo(() => {
    const rows = rowsOf(log, filters, shown);
    return filters.fold ? linesOf(log, rows, keep, opened) : rows.map(asLine);
  }, [log, filters, keep, opened, shown]);
  const current = row === null ? -1 : lineOf(lines, row);
  const expanded = lines[current]?.kind === 'row' ? current : -1;
  const view = useWindow(lines.length, expanded);
  /** A row to bring into sight once the lines show it. */
  const wanted = useRef<number | null>(null);
  const unfold = (first: number) => setOpened(new Set([...opened, first]));

  handle.current = {
    show: (to, focus) => {
      wanted.current = to;
      const line = lines[lineOf(lines, to)];
      if (line === undefined) setFilters({ ...NO_FILTERS, fold: filters.fold });
      else if (line.kind === 'fold') unfold(line.first);
      if (focus) view.scroller.current?.focus();
    },
  };
  useEffect(() => {
    if (wanted.current === null) return;
    const line = lineOf(lines, wanted.current);
    if (lines[line] === undefined) return;
    wanted.current = null;
    view.bring(line);
  });
  const select = (to: number) => {
    wanted.current = to;
    onRow(to);
  };
  const onKeyDown = (event: KeyboardEvent) => {
    const target = keyTarget(event, current, lines.length);
    const line = lines[target ?? current];
    if (target !== null && line !== undefined) select(line.kind === 'row' ? line.row : line.first);
    else if (event.key === 'Escape') onRow(null);
    else if (event.key === 'Enter' && line?.kind === 'fold') unfold(line.first);
    else return;
    event.preventDefault();
  };
  return { filters, setFilters, lines, view, current, expanded, unfold, select, onKeyDown };
}

const asLine = (row: number): Line => ({ kind: 'row', row });

function rowBefore(lines: Line[], index: number): number | null {
  const before = lines[index - 1];
  if (before === undefined) return null;
  return before.kind === 'row' ? before.row : before.last;
}

/** Ids of the findings at each row. */
function flagsOf(log: Log, { findings }: SessionResult): Map<number, string[]> {
  const flags = new Map<number, string[]>();
  for (const finding of findings) {
    const row = log.rowOf(finding);
    flags.set(row, [...(flags.get(row) ?? []), `${finding.id} ${finding.rule}`]);
  }
  return flags;
}

function amountWords(lines: Line[], log: Log): string {
  let rows = 0;
  for (const line of lines) rows += line.kind === 'row' ? 1 : line.exchanges * 2;
  const whole = log.length === 0 ? 0 : log.at[log.length - 1]! - log.at[0]!;
  return `${rows} of ${count(log.length, 'observation')} in ${seconds(whole)}`;
}

/** The line a key leads to; null for another key. */
function keyTarget({ key }: KeyboardEvent, current: number, amount: number): number | null {
  const to = lineFor(key, current, amount);
  return to === null ? null : Math.min(amount - 1, Math.max(0, to));
}

function lineFor(key: string, current: number, amount: number): number | null {
  switch (key) {
    case 'ArrowDown':
      return current + 1;
    case 'ArrowUp':
      return current < 0 ? 0 : current - 1;
    case 'PageDown':
      return current + 15;
    case 'PageUp':
      return current - 15;
    case 'Home':
      return 0;
    case 'End':
      return amount - 1;
    default:
      return null;
  }
}
