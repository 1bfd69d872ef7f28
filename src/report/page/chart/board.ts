// Everything of the time chart that is drawn: panels, bands and the flags of findings over one common span of time.
import uPlot from 'uplot';
import type { Finding } from '../../../rules/result.ts';
import { figure } from '../../figures.ts';
import { coloursOf, penOf, type Colours } from './colours.ts';
import { drawLane, LANE_HEIGHT, NARROW_LANE_HEIGHT, type Lane } from './lanes.ts';
import type { Panel } from './panels.ts';
import { reduce } from './reduce.ts';

export interface Span {
  from: number;
  to: number;
}

export const AXIS_WIDTH = 46;
const RIGHT = 10;
const FLAGS_HEIGHT = 20;
const PANEL_HEIGHT = 132;
const TIME_HEIGHT = 26;

interface BoardParts {
  panels: { panel: Panel; place: HTMLElement }[];
  lanes: Lane[];
  canvas: HTMLCanvasElement;
  findings: Finding[];
}

export const lanesHeight = (lanes: readonly Lane[], narrow: boolean): number =>
  FLAGS_HEIGHT + lanes.length * (narrow ? NARROW_LANE_HEIGHT : LANE_HEIGHT);

export class Board {
  readonly #parts: BoardParts;
  readonly #plots: { plot: uPlot; panel: Panel }[] = [];
  #colours: Colours;
  #width = 0;
  #narrow = false;
  #frame = 0;
  span: Span;

  constructor(parts: BoardParts, span: Span) {
    this.#parts = parts;
    this.span = span;
    this.#colours = coloursOf(parts.canvas);
  }

  /** Width of the part in which time runs, in CSS pixels. */
  get width(): number {
    return Math.max(1, this.#width - AXIS_WIDTH - RIGHT);
  }

  x(at: number): number {
    const { from, to } = this.span;
    return ((at - from) / (to - from)) * this.width;
  }

  at(x: number): number {
    const { from, to } = this.span;
    return from + (x / this.width) * (to - from);
  }

  /** Makes everything anew: for another width or other colours. */
  build(width: number, narrow: boolean): void {
    this.#width = width;
    this.#narrow = narrow;
    this.#colours = coloursOf(this.#parts.canvas);
    this.destroy();
    for (const [index, { panel, place }] of this.#parts.panels.entries()) {
      const last = index === this.#parts.panels.length - 1;
      const plot = new uPlot(this.#options(panel, last), this.#drawn(panel), place);
      this.#plots.push({ plot, panel });
    }
    this.#drawLanes();
  }

  /** Drawn with the next frame: what comes in between takes no time. */
  show(span: Span): void {
    this.span = span;
    cancelAnimationFrame(this.#frame);
    this.#frame = requestAnimationFrame(() => this.#draw());
  }

  #draw(): void {
    for (const { plot, panel } of this.#plots) plot.setData(this.#drawn(panel));
    this.#drawLanes();
  }

  destroy(): void {
    cancelAnimationFrame(this.#frame);
    for (const { plot } of this.#plots) plot.destroy();
    this.#plots.length = 0;
  }

  #drawn(panel: Panel): uPlot.AlignedData {
    const { from, to } = this.span;
    return reduce(panel, from, to, this.width / 2) as uPlot.AlignedData;
  }

  #options(panel: Panel, last: boolean): uPlot.Options {
    const colours = this.#colours;
    const font = '11px system-ui, sans-serif';
    const axis = { stroke: colours.quiet, font, grid: { stroke: colours.line, width: 1 } };
    const stepped = uPlot.paths.stepped!({ align: 1 });
    return {
      width: this.#width,
      height: PANEL_HEIGHT + (last ? TIME_HEIGHT : 0),
      padding: [8, RIGHT, last ? 0 : 4, 0],
      cursor: { show: false },
      select: { show: false, left: 0, top: 0, width: 0, height: 0 },
      legend: { show: false },
      scales: {
        x: { time: false, range: () => [this.span.from, this.span.to] },
        y: { range: (_plot, low, high) => rangeOf(low, high) },
      },
      axes: [
        {
          ...axis,
          size: last ? TIME_HEIGHT : 0,
          space: 70,
          ticks: { stroke: colours.line, size: last ? 4 : 0 },
          values: (_plot, splits) => splits.map((at) => (last ? `${figure(at)} s` : '')),
        },
        {
          ...axis,
          size: AXIS_WIDTH,
          space: 28,
          gap: 4,
          ticks: { show: false },
          values: (_plot, splits) => splits.map(figure),
        },
      ],
      series: [
        {},
        ...panel.lines.map(({ says, stroke, dash }) => {
          const { colour, width } = penOf(stroke, colours);
          return {
            label: says,
            stroke: colour,
            width,
            dash,
            paths: stepped,
            points: { show: false },
          };
        }),
      ],
      hooks: { draw: [(plot) => this.#drawFindings(plot.ctx, plot.bbox)] },
    };
  }

  /** A line through every panel where a finding stands. */
  #drawFindings(pen: CanvasRenderingContext2D, box: uPlot.BBox): void {
    const scale = devicePixelRatio;
    pen.save();
    pen.strokeStyle = this.#colours.broken;
    pen.lineWidth = scale;
    pen.setLineDash([4 * scale, 3 * scale]);
    for (const { at } of this.#parts.findings) {
      const x = box.left + this.x(at) * scale;
      if (x < box.left || x > box.left + box.width) continue;
      pen.beginPath();
      pen.moveTo(x, box.top);
      pen.lineTo(x, box.top + box.height);
      pen.stroke();
    }
    pen.restore();
  }

  #drawLanes(): void {
    const { canvas, lanes } = this.#parts;
    const height = lanesHeight(lanes, this.#narrow);
    const scale = devicePixelRatio;
    canvas.width = Math.round(this.width * scale);
    canvas.height = Math.round(height * scale);
    canvas.style.width = `${this.width}px`;
    canvas.style.height = `${height}px`;
    const pen = canvas.getContext('2d')!;
    pen.scale(scale, scale);
    pen.font = '11px system-ui, sans-serif';
    const drawing = {
      pen,
      width: this.width,
      x: (at: number) => this.x(at),
      colours: this.#colours,
    };
    this.#drawFindingLines(pen, height);
    for (const index of lanes.keys()) {
      const bottom = lanesHeight(lanes.slice(0, index + 1), this.#narrow);
      drawLane(lanes[index]!, bottom - LANE_HEIGHT, drawing);
    }
    this.#drawFlags(pen);
  }

  /** Below the bands, so that their words stay readable. */
  #drawFindingLines(pen: CanvasRenderingContext2D, height: number): void {
    pen.strokeStyle = this.#colours.broken;
    pen.setLineDash([4, 3]);
    for (const { at } of this.#parts.findings) {
      const x = this.x(at);
      if (x < 0 || x > this.width) continue;
      pen.beginPath();
      pen.moveTo(x, FLAGS_HEIGHT - 4);
      pen.lineTo(x, height);
      pen.stroke();
    }
    pen.setLineDash([]);
  }

  #drawFlags(pen: CanvasRenderingContext2D): void {
    let free = -Infinity;
    for (const { id, at } of this.#parts.findings.toSorted((a, b) => a.at - b.at)) {
      const x = this.x(at);
      if (x < 0 || x > this.width) continue;
      const wide = pen.measureText(id).width + 8;
      const left = Math.min(x, this.width - wide);
      // Flags that would cover each other: the first stands for all.
      if (left < free) continue;
      free = left + wide + 2;
      pen.fillStyle = this.#colours.broken;
      pen.fillRect(left, 1, wide, FLAGS_HEIGHT - 5);
      pen.fillStyle = this.#colours.sheet;
      pen.textBaseline = 'middle';
      pen.fillText(id, left + 4, (FLAGS_HEIGHT - 3) / 2 + 0.5);
    }
  }
}

/** Around the values, with room; from zero where they come near it. */
function rangeOf(low: number | null, high: number | null): [number, number] {
  if (low === null || high === null) return [0, 1];
  const room = Math.max((high - low) * 0.08, Math.abs(high) * 0.02, 0.5);
  const near = low >= 0 && low < high * 0.6;
  return [near ? 0 : low - room, high + room];
}
