// The state of the time chart and what changes it.
import type { RefObject } from 'preact';
import { useCallback, useEffect, useMemo, useRef, useState } from 'preact/hooks';
import type { SessionResult } from '../../../rules/result.ts';
import type { Log } from '../log.ts';
import { NARROW, useMedia } from '../media.ts';
import { THEME_CHANGED } from '../theme.tsx';
import { Board, type Span } from './board.ts';
import { listen } from './gestures.ts';
import { lanesOf } from './lanes.ts';
import { panelsOf } from './panels.ts';
import { showing, within } from './spans.ts';

/** A zoom or a pan is over when nothing moved for so long. */
const SETTLED_ms = 200;

export interface ChartHandle {
  /** Puts the cursor on a row, and moves there when it is out of sight. */
  show(row: number): void;
}

export interface ChartProps {
  log: Log;
  session: SessionResult;
  /** The selected row. */
  row: number | null;
  onRow: (row: number, focus: boolean) => void;
  /** What is shown has been changed, and stays for a moment. */
  onSpan: (span: Span) => void;
  handle: RefObject<ChartHandle | null>;
}

export type Chart = ReturnType<typeof useChart>;

/** The state of a chart, and what changes it. */
export function useChart({ log, session, row, onRow, onSpan, handle }: ChartProps) {
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
  const narrow = useMedia(NARROW);

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
    const panelPlaces = panels.map((panel, index) => ({ panel, place: places.current[index]! }));
    const parts = { panels: panelPlaces, lanes, canvas: canvas.current! };
    const drawn = new Board({ ...parts, findings: session.findings }, spanNow.current);
    board.current = drawn;
    return () => drawn.destroy();
  }, [panels, lanes, session]);
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
  handle.current = { show: (to) => point(log.at[to]!) };
  useEffect(() => {
    const timer = setTimeout(() => onSpan(span), SETTLED_ms);
    return () => clearTimeout(timer);
  }, [span, onSpan]);
  const at = cursor ?? (row === null ? null : log.at[row]!);
  const actions = { show, point, select: (to: number) => onRow(to, true) };
  const state = { span, whole, width, at, chosen, narrow };
  return { ...state, panels, lanes, places, canvas, over, show, actions };
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

function wholeOf(log: Log, session: SessionResult): Span {
  const from = Math.min(session.from, log.at[0] ?? session.from);
  const to = Math.max(session.to, log.at[log.length - 1] ?? session.to, from + 0.02);
  return { from, to };
}
