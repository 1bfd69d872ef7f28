// State drawings of a machine.
import { createHash } from 'node:crypto';
import type { SideMachine } from '../../machine/convention.ts';
import { count } from '../figures.ts';
import { boxText, isShortened, labelText, type TextBlock } from './box-text.ts';
import { layoutOf } from './layout.ts';
import { machineSvg } from './machine-svg.ts';
import { machineOutline, type Outline } from './outline.ts';
import { machineMermaid } from './mermaid.ts';
import { Marks, reachedWords, type Overlay } from './overlay.ts';
import type { Theme } from './theme.ts';
import { viewOf, type Arrow, type View, type ViewOptions } from './view.ts';
import { wordings } from './way-words.ts';

export interface DrawOptions extends ViewOptions {
  /** `auto`, where absent: as the reader's system has it. */
  theme?: Theme;
  /** Told above the drawing; where absent the machine's own name. */
  title?: string;
}

/** Levels that make a good first look at a machine of a hundred states. */
const OVERVIEW_DEPTH = 2;
/** A machine with fewer states is shown whole. */
const SMALL = 30;

/** The drawing of a machine as SVG, with marks of what an overlay reached. Throws an InputError for an unknown state. */
export async function drawMachine(
  machine: SideMachine,
  overlay: Overlay | null = null,
  options: DrawOptions = {},
): Promise<string> {
  const outline = machineOutline(machine);
  const depth = options.depth ?? usualDepth(outline, options.only);
  const view = viewOf(outline, { ...options, depth });
  const marks = overlay === null ? null : new Marks(outline, overlay);
  const isWhole = ![...view.shown.values()].some(({ folded }) => folded);
  const numbers = isWhole ? numbered(view.arrows) : new Map<Arrow, number>();
  const texts = textsOf(outline, view, marks);
  const labels = new Map(
    view.arrows.map((arrow) => [
      arrow,
      labelText(arrow.ways, marks?.taken(arrow.ways) ?? false, numbers.get(arrow) ?? null),
    ]),
  );
  const layout = await layoutOf(view, texts, labels);
  const title = options.title ?? titleOf(outline, options.only);
  const theme = options.theme ?? 'auto';
  const key = JSON.stringify([title, options, depth, overlay?.says, outline.ways.length, layout]);
  return machineSvg(layout, marks, {
    id: `machine-${createHash('sha256').update(key).digest('hex').slice(0, 10)}`,
    theme,
    title,
    subtitles: subtitlesOf(outline, view, overlay),
    foot: footOf(view, isWhole, marks, numbers),
  });
}

/** The same as Mermaid text, without marks. */
export function machineText(machine: SideMachine, options: ViewOptions = {}): string {
  const outline = machineOutline(machine);
  const depth = options.depth ?? usualDepth(outline, options.only);
  return machineMermaid(outline, { ...options, depth });
}

/** Small machines and parts whole, large ones as an overview. */
function usualDepth({ states }: Outline, only = ''): number {
  const inside = [...states.keys()].filter((path) => only === '' || path.startsWith(`${only}.`));
  return inside.length <= SMALL ? Infinity : OVERVIEW_DEPTH;
}

function titleOf({ name, side, protocol }: Outline, only = ''): string {
  const whose = name === side ? `The ${side}` : `${name}, a ${side}`;
  return `${whose} of ${protocol}${only === '' ? '' : `: ${only}`}`;
}

function textsOf(outline: Outline, view: View, marks: Marks | null): Map<string, TextBlock> {
  const names = shortNames(view);
  const begins = (path: string): boolean => {
    const { parent } = outline.states.get(path)!;
    return parent !== null && outline.states.get(parent)!.initial === path;
  };
  return new Map(
    [...view.shown].map(([path, one]) => [path, boxText(one, begins(path), names, marks)]),
  );
}

/** A state's own name where only one box has it, else its path. */
function shortNames({ shown, top }: View): (path: string) => string {
  const times = new Map<string, number>();
  for (const { state } of shown.values()) times.set(state.name, (times.get(state.name) ?? 0) + 1);
  return (path) => {
    const state = shown.get(path)?.state;
    if (state === undefined) return path === '' ? top.state.name : path;
    return times.get(state.name) === 1 ? state.name : path;
  };
}

function numbered(arrows: readonly Arrow[]): Map<Arrow, number> {
  const short = arrows.filter(({ ways }) => isShortened(ways));
  return new Map(short.map((arrow, index) => [arrow, index + 1]));
}

function subtitlesOf(outline: Outline, view: View, overlay: Overlay | null): string[] {
  const { shown, incoming, around } = view;
  const own = [...shown.values()].filter(({ state }) => state.children.length === 0).length;
  const folded = [...shown.values()].filter((one) => one.folded).length;
  const more = folded === 0 ? '' : `, ${count(folded, 'box', 'boxes')} with more inside`;
  const lines = [`${count(own, 'state')}${more}. Software drawing of a model, no clearance.`];
  if (incoming.length > 0) {
    const from = incoming.map(({ to }) => to).join(', ');
    lines.push(`Led to from ${from}.`);
  }
  if (around.length > 0) {
    const ways = around.flatMap(({ to, ways: all }) =>
      wordings(all).map((words) => `${words} → ${to === null ? 'stays' : to}`),
    );
    lines.push(`From anywhere here: ${ways.join('; ')}.`);
  }
  if (overlay !== null) lines.push(`Marked: ${overlay.says}; ${reachedWords(outline, overlay)}.`);
  return lines;
}

function footOf(
  { arrows }: View,
  isWhole: boolean,
  marks: Marks | null,
  numbers: ReadonlyMap<Arrow, number>,
): string[] {
  const signs = ['● begins here', '→ leads to', '↻ enters itself again', 'event [guard] / outputs'];
  if (!isWhole) signs.push('double edge: more inside');
  if (marks !== null) signs.push('heavy line and bold words: reached', 'dashed line: not reached');
  const entries = arrows.flatMap((arrow) => {
    const number = numbers.get(arrow);
    if (number === undefined) return [];
    return [`(${number}) ${arrow.from} → ${arrow.to}: ${wordings(arrow.ways).join('; ')}`];
  });
  return [signs.join(' · '), ...entries];
}
