// How text is laid out: width, colour, wrapping. Colour only repeats what words and shapes already say.
import pc from 'picocolors';
import stringWidth from 'string-width';
import wrapAnsi from 'wrap-ansi';
import type { Verdict } from '../rules/result.ts';

type Paint = (text: string) => string;

export interface Look {
  /** Columns a line may take. */
  width: number;
  strong: Paint;
  faint: Paint;
  name: Paint;
  verdict: Record<Verdict, Paint>;
}

/** Longer lines tire the reader, however wide the terminal is. */
const WIDEST = 120;
/** Tables need this much; a narrower terminal wraps them itself. */
const NARROWEST = 60;

export function lookOf(width: number, color: boolean): Look {
  const colors = pc.createColors(color);
  return {
    width: Math.min(Math.max(width, NARROWEST), WIDEST),
    strong: colors.bold,
    faint: colors.dim,
    name: colors.cyan,
    verdict: {
      broken: (text) => colors.bold(colors.magenta(text)),
      unreadable: (text) => colors.bold(colors.yellow(text)),
      inconclusive: (text) => colors.bold(colors.yellow(text)),
      holds: (text) => colors.bold(colors.blue(text)),
    },
  };
}

/** A space that no line may end at: before a unit, and before the number of a frame. */
const TOGETHER = /(?<=\d) (?=(?:%|°C|[kMm]?[sVAW]|k?Wh)(?![\w%]))|(?<=\bframe) (?=\d)/g;

/** Text wrapped to the width; the first line starts at `indent`, the others at `hang`. */
export function paragraph(look: Look, text: string, indent = 0, hang = indent): string[] {
  const room = Math.max(look.width - Math.max(indent, hang), 16);
  return wrapAnsi(text.replace(TOGETHER, '\u00a0'), room, { hard: true })
    .replaceAll('\u00a0', ' ')
    .split('\n')
    .map((line, index) => `${' '.repeat(index === 0 ? indent : hang)}${line}`.trimEnd());
}

/** Labels in one column, their texts wrapped beside them. */
export function fields(
  look: Look,
  rows: [label: string, text: string][],
  indent: number,
): string[] {
  const label = Math.max(...rows.map(([name]) => stringWidth(name)));
  return rows.flatMap(([name, text]) => {
    const lines = paragraph(look, text, indent + label + 2);
    const head = `${' '.repeat(indent)}${look.faint(padEnd(name, label))}  `;
    return [`${head}${lines[0]!.trimStart()}`.trimEnd(), ...lines.slice(1)];
  });
}

export function padEnd(text: string, columns: number): string {
  return text + ' '.repeat(Math.max(0, columns - stringWidth(text)));
}

export function padStart(text: string, columns: number): string {
  return ' '.repeat(Math.max(0, columns - stringWidth(text))) + text;
}

/** The text cut to the columns, its end marked; `keep` says which end matters. */
export function fit(text: string, columns: number, keep: 'start' | 'end' = 'start'): string {
  if (stringWidth(text) <= columns) return text;
  const letters = [...text];
  if (keep === 'end') letters.reverse();
  let kept = '';
  for (const letter of letters) {
    if (stringWidth(kept + letter) > columns - 1) break;
    kept = keep === 'end' ? letter + kept : kept + letter;
  }
  return keep === 'end' ? `…${kept}` : `${kept}…`;
}

/** A heading with a rule that runs to the width. */
export function heading(look: Look, text: string): string {
  const line = '─'.repeat(Math.max(0, look.width - stringWidth(text) - 1));
  return `${look.strong(text)} ${look.faint(line)}`.trimEnd();
}

/** A share between 0 and 1 as characters: `=====.....`; what passes 1 ends in `!`. */
export function bar(share: number, columns: number): string {
  const full = Math.min(columns, Math.max(0, Math.round(share * columns)));
  if (share > 1) return `${'='.repeat(columns - 1)}!`;
  return `${'='.repeat(full)}${'.'.repeat(columns - full)}`;
}
