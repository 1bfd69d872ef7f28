// The time chart: bands and figures over one span, a cursor with values, and what moves them.
import { seconds } from '../../figures.ts';
import type { Log } from '../log.ts';
import { AXIS_WIDTH, lanesHeight, type Span } from './board.ts';
import { keyed } from './keys.ts';
import { LaneLabels, PanelLabels } from './labels.tsx';
import { moved, scaled } from './spans.ts';
import { useChart, type Chart, type ChartProps } from './use-chart.ts';

export function TimeChart(props: ChartProps) {
  const { log, session, row } = props;
  const chart = useChart(props);
  const { panels, lanes, span, whole, at, places, narrow } = chart;
  const here = at === null ? null : log.rowAt(at);
  return (
    <section class="sheet chart" aria-labelledby="chart">
      <header class="bar-head">
        <h2 id="chart">Over time</h2>
        <ChartButtons span={span} whole={whole} onShow={chart.show} />
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
            <canvas ref={chart.canvas} />
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
        <Overlay
          chart={chart}
          selected={row === null ? null : log.at[row]!}
          onKeyDown={(event) => {
            const view = { log, span, whole, row: here ?? log.rowAt(span.from) };
            const done = keyed(event, { ...view, findings: session.findings }, chart.actions);
            if (done) event.preventDefault();
          }}
        />
      </div>
      <p class="hint">
        Drag over a stretch to zoom, shift-drag to move, Ctrl and wheel to zoom, double-click for
        everything. Click for the message in the sequence.
      </p>
    </section>
  );
}

/** What the pointer and the keys act on: the cursor, what is selected, a stretch being chosen. */
function Overlay(props: {
  chart: Chart;
  selected: number | null;
  onKeyDown: (event: KeyboardEvent) => void;
}) {
  const { selected, onKeyDown } = props;
  const { over, width, span, whole, show, at, chosen } = props.chart;
  const x = (time: number) => ((time - span.from) / (span.to - span.from)) * width;
  return (
    <div
      ref={over}
      class="reach"
      style={{ width: `${width}px` }}
      tabIndex={0}
      role="application"
      aria-label={KEYS}
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
  );
}

const KEYS =
  'Time chart. Left and right move the cursor by a message, with shift they move the view; plus and minus zoom, ' +
  '0 shows everything, n and p go from finding to finding, Enter opens the message in the sequence.';

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

const inside = (x: number, width: number): boolean => x >= -1 && x <= width + 1;

const rangeWords = ({ from, to }: Span): string =>
  `${seconds(from)} to ${seconds(to)}, ${seconds(to - from)} in view`;

function rowWords(log: Log, row: number, at: number): string {
  const frame = log.frames[row]!;
  const { name, from } = log.head(row);
  const where = frame === 0 ? '' : `, frame ${frame}`;
  return `${seconds(at)}: after ${from === undefined ? '' : `the ${from}’s `}${name}${where}, ${seconds(log.at[row]!)}`;
}
