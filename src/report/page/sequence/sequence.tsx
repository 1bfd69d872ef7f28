// The dialogue, message by message: the vehicle's on the left of the spine, the charger's on its right, time running
// down. Only the lines in sight are in the page.
import type { RefObject } from 'preact';
import { useCallback, useEffect, useMemo, useRef, useState } from 'preact/hooks';
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
  span: () => Span | null;
}

export function Sequence({ log, session, row, onRow, handle, span }: SequenceProps) {
  const [filters, setFilters] = useState(NO_FILTERS);
  const [opened, setOpened] = useState<ReadonlySet<number>>(new Set());
  const answers = useMemo(() => answersOf(log), [log]);
  const flags = useMemo(() => flagsOf(log, session), [log, session]);
  const keep = useMemo(() => new Set([...flags.keys(), ...answers.unanswered]), [flags, answers]);
  const lines = useMemo(() => {
    const rows = rowsOf(log, filters, span());
    return filters.fold ? linesOf(log, rows, keep, opened) : rows.map(asLine);
  }, [log, filters, keep, opened, span]);
  const current = row === null ? -1 : lineOf(lines, row);
  const expanded = current >= 0 && lines[current]!.kind === 'row' ? current : -1;
  const view = useWindow(lines.length, expanded);
  const wanted = useRef<number | null>(null);

  const show = useCallback(
    (to: number, focus: boolean) => {
      wanted.current = to;
      const line = lineOf(lines, to);
      if (line < 0) setFilters({ ...NO_FILTERS, fold: filters.fold });
      else if (lines[line]!.kind === 'fold') {
        setOpened(new Set([...opened, (lines[line] as { first: number }).first]));
      }
      if (focus) view.scroller.current?.focus();
    },
    [lines, filters, opened, view],
  );
  handle.current = { show };
  // After the lines have changed for it, or at once.
  useEffect(() => {
    if (wanted.current === null) return;
    const line = lineOf(lines, wanted.current);
    if (line < 0 || lines[line]!.kind === 'fold') return;
    wanted.current = null;
    view.bring(line);
  });

  const move = (to: number) => {
    const line = lines[Math.min(lines.length - 1, Math.max(0, to))];
    if (line === undefined) return;
    const next = line.kind === 'row' ? line.row : line.first;
    wanted.current = next;
    onRow(next);
    if (line.kind === 'fold') view.bring(lines.indexOf(line));
  };
  const onKeyDown = (event: KeyboardEvent) => {
    const target = keyTarget(event, current, lines.length);
    if (target !== null) move(target);
    else if (event.key === 'Escape') onRow(null);
    else if (event.key === 'Enter' && lines[current]?.kind === 'fold') {
      show((lines[current] as { first: number }).first, false);
    } else return;
    event.preventDefault();
  };
  return (
    <section class="sheet sequence" aria-labelledby="sequence">
      <header class="bar-head">
        <h2 id="sequence">Message by message</h2>
        <span class="quiet" aria-live="polite">
          {amountWords(lines, log)}
        </span>
      </header>
      <FilterBar filters={filters} onFilters={setFilters} />
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
        onKeyDown={onKeyDown}
      >
        <ol style={{ height: `${view.height}px` }}>
          {view.range.map((index) => {
            const line = lines[index];
            if (line === undefined) return null;
            const place = { top: view.top(index), height: view.rowHeight };
            if (line.kind === 'fold') {
              return (
                <FoldLine
                  key={`f${line.first}`}
                  fold={line}
                  log={log}
                  place={place}
                  current={index === current}
                  onOpen={() => setOpened(new Set([...opened, line.first]))}
                />
              );
            }
            return (
              <RowLine
                key={line.row}
                row={line.row}
                before={rowBefore(lines, index)}
                log={log}
                answers={answers}
                flags={flags.get(line.row) ?? []}
                place={place}
                current={index === current}
                onSelect={() => onRow(line.row === row ? null : line.row)}
              >
                {index === expanded && (
                  <Detail log={log} row={line.row} onRow={onRow} onSize={view.setDetail} />
                )}
              </RowLine>
            );
          })}
        </ol>
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
