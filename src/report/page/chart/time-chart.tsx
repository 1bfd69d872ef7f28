// The time chart: bands and figures over one span, a cursor with values, and what moves them.
import type { RefObject } from 'preact';
import { NARROW, useMedia } from '../media.ts';
import { useCallback, useEffect, useMemo, useRef, useState } from 'preact/hooks';
import type { SessionResult } from '../../../rules/result.ts';
import { seconds } from '../../figures.ts';
import type { Log } from '../log.ts';
import { THEME_CHANGED } from '../theme.tsx';
import { AXIS_WIDTH, Board, lanesHeight, type Span } from './board.ts';
import { listen } from './gestures.ts';
import { keyed } from './keys.ts';
import { lanesOf } from './lanes.ts';
import { LaneLabels, PanelLabels } from './labels.tsx';
import { panelsOf } from './panels.ts';
import { moved, scaled, showing, within } from './spans.ts';

export interface ChartHandle {
  /** Puts the cursor on a row, and moves there when it is out of sight. */
  show(row: number): void;
  /** What is shown, in seconds. */
  span(): Span;
}

interface ChartProps {
  log: Log;
  session: SessionResult;
  /** The selected row. */
  row: number | null;
  onRow: (row: number, focus: boolean) => void;
  handle: RefObject<ChartHandle | null>;
}

export function TimeChart({ log, session, row, onRow, handle }: ChartProps) {
  const panels = useMemo(() => panelsOf(log), [log]);
  const lanes = useMemo(() => lanesOf(log), [log]);
  const whole = useMemo(() => wholeOf(log, session), [log, session]);
  const places = useRef<(HTMLDivElement | null)[]>([]);
  const canvas = useRef<HTMLCanvasElement>(null);
  const over = useRef<HTMLDivElement>(null);
  const board = useRef<Board | null>(null);
  const [span, setSpan] = useState(whole);
  const [width, setWidth] = useState(0);
  const [cursor, setCursor] = useState<number | null>(null);
  const [chosen, setChosen] = useState<{ left: number; right: number } | null>(null);
  const spanNow = useRef(span);

  const show = useCallback(
    (wanted: Span) => {
      const next = within(wanted, whole);
      spanNow.current = next;
      board.current?.show(next);
      setSpan(next);
    },
    [whole],
  );
  const point = useCallback(
    (at: number) => {
      setCursor(at);
      const next = showing(spanNow.current, at);
      if (next !== spanNow.current) show(next);
    },
    [show],
  );

  useEffect(() => {
    const places_ = places.current;
    const parts = {
      panels: panels.map((panel, index) => ({ panel, place: places_[index]! })),
      lanes,
      canvas: canvas.current!,
      findings: session.findings,
    };
    const drawn = new Board(parts, spanNow.current);
    board.current = drawn;
    return () => drawn.destroy();
  }, [panels, lanes, session]);

  const narrow = useMedia(NARROW);
  useBuilt(board, canvas, narrow, setWidth);

  useEffect(
    () =>
      listen(over.current!, {
        width: () => board.current!.width,
        span: () => spanNow.current,
        show,
        point: (x) => setCursor(x === null ? null : board.current!.at(x)),
        choose: setChosen,
        click: (x) => onRow(log.rowAt(board.current!.at(x)), false),
      }),
    [log, onRow, show],
  );

  handle.current = { show: (to) => point(log.at[to]!), span: () => spanNow.current };
  const selected = row === null ? null : log.at[row]!;
  const at = cursor ?? selected;
  const here = at === null ? null : log.rowAt(at);
  const x = (time: number) => ((time - span.from) / (span.to - span.from)) * width;
  const onKeyDown = (event: KeyboardEvent) => {
    const start = here ?? log.rowAt(span.from);
    const view = { log, span, whole, row: start, findings: session.findings };
    const done = keyed(event, view, { show, point, select: (to) => onRow(to, true) });
    if (done) event.preventDefault();
  };
  return (
    <section class="sheet chart" aria-labelledby="chart">
      <header class="bar-head">
        <h2 id="chart">Over time</h2>
        <ChartButtons span={span} whole={whole} onShow={show} />
      </header>
      <p class="readout number" aria-live="polite">
        {here === null ? rangeWords(span) : rowWords(log, here, at!)}
      </p>
      <div class="board" style={{ '--axis': `${AXIS_WIDTH}px` }}>
        <div class="panel lanes">
          <LaneLabels lanes={lanes} at={at} />
          <div
            class="plot"
            style={{ paddingLeft: `${AXIS_WIDTH}px`, height: `${lanesHeight(lanes, narrow)}px` }}
          >
            <canvas ref={canvas} />
          </div>
        </div>
        {panels.map((panel, index) => (
          <div class="panel" key={panel.title}>
            <PanelLabels panel={panel} at={at} />
            <div
              class="plot"
              ref={(element) => {
                places.current[index] = element;
              }}
            />
          </div>
        ))}
        <div
          ref={over}
          class="over"
          style={{ width: `${width}px` }}
          tabIndex={0}
          role="application"
          aria-label="Time chart. Left and right move the cursor by a message, with shift they move the view; plus and minus zoom, 0 shows everything, n and p go from finding to finding, Enter opens the message in the sequence."
          onKeyDown={onKeyDown}
          onDblClick={() => show(whole)}
        >
          {selected !== null && inside(x(selected), width) && (
            <span class="chosen-line" style={{ left: `${x(selected)}px` }} />
          )}
          {at !== null && inside(x(at), width) && (
            <span class="cursor-line" style={{ left: `${x(at)}px` }} />
          )}
          {chosen !== null && (
            <span
              class="chosen-span"
              style={{ left: `${chosen.left}px`, width: `${chosen.right - chosen.left}px` }}
            />
          )}
        </div>
      </div>
      <p class="hint">
        Drag over a stretch to zoom, shift-drag to move, Ctrl and wheel to zoom, double-click for
        everything. Click for the message in the sequence.
      </p>
    </section>
  );
}

/** Draws for the width there is, again when it or the colours change. */
function useBuilt(
  board: RefObject<Board | null>,
  canvas: RefObject<HTMLCanvasElement | null>,
  narrow: boolean,
  onWidth: (width: number) => void,
): void {
  useEffect(() => {
    const room = canvas.current!.parentElement!;
    const build = () => {
      board.current!.build(room.clientWidth, narrow);
      onWidth(board.current!.width);
    };
    const sizes = new ResizeObserver(build);
    sizes.observe(room);
    const dark = matchMedia('(prefers-color-scheme: dark)');
    dark.addEventListener('change', build);
    addEventListener(THEME_CHANGED, build);
    return () => {
      sizes.disconnect();
      dark.removeEventListener('change', build);
      removeEventListener(THEME_CHANGED, build);
    };
  }, [board, canvas, narrow, onWidth]);
}

interface ButtonsProps {
  span: Span;
  whole: Span;
  onShow: (span: Span) => void;
}

function ChartButtons({ span, whole, onShow }: ButtonsProps) {
  const middle = (span.from + span.to) / 2;
  return (
    <div class="buttons" role="group" aria-label="What the chart shows">
      <button type="button" onClick={() => onShow(moved(span, -0.4))}>
        ← earlier
      </button>
      <button type="button" onClick={() => onShow(scaled(span, 0.5, middle))}>
        + closer
      </button>
      <button type="button" onClick={() => onShow(scaled(span, 2, middle))}>
        − wider
      </button>
      <button type="button" onClick={() => onShow(moved(span, 0.4))}>
        later →
      </button>
      <button type="button" onClick={() => onShow(whole)}>
        everything
      </button>
    </div>
  );
}

function wholeOf(log: Log, session: SessionResult): Span {
  const from = Math.min(session.from, log.at[0] ?? session.from);
  const to = Math.max(session.to, log.at[log.length - 1] ?? session.to, from + 0.02);
  return { from, to };
}

const inside = (x: number, width: number): boolean => x >= -1 && x <= width + 1;

const rangeWords = ({ from, to }: Span): string =>
  `${seconds(from)} to ${seconds(to)}, ${seconds(to - from)} in view`;

function rowWords(log: Log, row: number, at: number): string {
  const frame = log.frames[row]!;
  const { name, from } = log.head(row);
  const where = frame === 0 ? '' : `, frame ${frame}`;
  return `${seconds(at)}: after ${from === undefined ? '' : `the ${from}’s `}${name}${where}, ${seconds(log.at[row]!)}`;
}
