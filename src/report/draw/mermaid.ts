// Drawings as Mermaid text, which many readers of Markdown show. States and sides go by ids of our own; every foreign
// text is a description, with each character that means something to Mermaid written as an entity (`#59;`).
import { plain } from '../plain.ts';
import type { Outline } from './outline.ts';
import type { SequenceRow } from './sequence-rows.ts';
import { viewOf, type ShownState, type View, type ViewOptions } from './view.ts';
import { kindWords, wordings } from './way-words.ts';

/** A `stateDiagram-v2`. Folded states are told as such; their transitions are counted, not listed. */
export function machineMermaid(outline: Outline, options: ViewOptions): string {
  const view = viewOf(outline, options);
  const ids = new Map([...view.shown.keys()].map((path, index) => [path, `s${index}`]));
  const outside = new Map<string, string>();
  const idOf = (path: string): string => {
    const known = ids.get(path) ?? outside.get(path);
    if (known !== undefined) return known;
    outside.set(path, `o${outside.size}`);
    return outside.get(path)!;
  };
  const body = [
    ...stateLines(view.top, idOf, '  '),
    ...arrowLines(view, idOf),
    ...[...view.shown.values()].flatMap((one) => noteLines(one, idOf)),
  ];
  const others = [...outside].map(([path, id]) => `  ${id} : ${escape(path)} (not shown here)`);
  return `${['stateDiagram-v2', ...body, ...others].join('\n')}\n`;
}

function stateLines(
  { state, children, folded, inside }: ShownState,
  idOf: (path: string) => string,
  indent: string,
): string[] {
  const id = idOf(state.path);
  const says = [state.says === state.name ? '' : state.says, entryWords(state.entry)];
  if (folded) says.push(`${inside} states inside`);
  const told = says.filter((words) => words !== '');
  if (children.length === 0) {
    return [`${indent}${id} : ${escape([state.name, ...told].join(': '))}`];
  }
  const head = `${indent}state "${escape([state.name, ...told].join(': '))}" as ${id} {`;
  const first = state.initial === null ? [] : [`${indent}  [*] --> ${idOf(state.initial)}`];
  const inner = children.flatMap((child) => stateLines(child, idOf, `${indent}  `));
  return [head, ...first, ...inner, `${indent}}`];
}

function entryWords(entry: readonly string[]): string {
  return entry.length === 0 ? '' : `on entry ${entry.join(', ')}`;
}

function arrowLines({ arrows, shown }: View, idOf: (path: string) => string): string[] {
  return arrows.flatMap(({ from, to, ways }) => {
    const folded = shown.get(from)!.folded || shown.get(to)!.folded;
    const words = folded ? [kindWords(ways)] : wordings(ways);
    return words.map((one) => `  ${idOf(from)} --> ${idOf(to)} : ${escape(one)}`);
  });
}

/** What the drawing tells in words, Mermaid draws: arrows cost nothing in text. */
function noteLines({ state, notes, folded }: ShownState, idOf: (path: string) => string): string[] {
  const id = idOf(state.path);
  return notes.flatMap(({ to, ways }) => {
    const words = folded ? [kindWords(ways)] : wordings(ways);
    return words.map((one) => `  ${id} --> ${idOf(to ?? state.path)} : ${escape(one)}`);
  });
}

/** A `sequenceDiagram`. */
export function sequenceMermaid(title: string, rows: readonly SequenceRow[]): string {
  const lines = [
    'sequenceDiagram',
    '  participant vehicle',
    '  participant charger',
    `  Note over vehicle,charger: ${escape(title)}`,
    ...rows.map((row) => `  ${rowLine(row)}`),
  ];
  return `${lines.join('\n')}\n`;
}

function rowLine(row: SequenceRow): string {
  if (row.kind === 'message') {
    const to = row.from === 'vehicle' ? 'charger' : 'vehicle';
    const says = row.says === '' ? '' : ` (${row.says})`;
    return `${row.from}->>${to}: ${escape(`${whenWords(row)} ${row.name}${says}`)}`;
  }
  const words = row.kind === 'event' ? `${whenWords(row)} ${row.says}` : row.says;
  return `Note over vehicle,charger: ${escape(words)}`;
}

function whenWords({ at, frame }: { at: number; frame: number | null }): string {
  return `${at.toFixed(3)} s${frame === null ? '' : `, frame ${frame}`}`;
}

/** Letters, digits and signs that mean nothing to Mermaid stay; all else becomes an entity by its number. */
function escape(words: string): string {
  return plain(words).replace(
    /[^\p{L}\p{N} .,()[\]_%/→·×+=-]/gu,
    (one) => `#${one.codePointAt(0)};`,
  );
}
