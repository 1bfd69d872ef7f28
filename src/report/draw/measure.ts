// How wide a text is, without knowing the reader's font: as wide as in DejaVu Sans, about the widest of those a reader
// without fonts of his own gets. Measured in its tables; in hundredths of the font's size.
const CLASSES: readonly (readonly [width: number, characters: string])[] = [
  [28, 'ijl'],
  [34, " |.,:;'I![]()/-`\\"],
  [41, 'frt"*{}'],
  [53, 'cszJvxykL_?'],
  [64, 'abdeghnopquFETYZPSKBXVRCA0123456789$#§'],
  [80, 'wDGHNOQU<>=+~^&'],
  [90, 'M'],
  [100, 'mW@%→←…·▸▹↻●○'],
];

const WIDTHS = new Map(
  CLASSES.flatMap(([width, characters]) => [...characters].map((one) => [one, width] as const)),
);

/** Letters outside the table: as wide as they get. */
const OTHER = 100;
const BOLD = 1.16;

export function textWidth(text: string, size: number, bold = false): number {
  let sum = 0;
  for (const letter of text) sum += WIDTHS.get(letter) ?? OTHER;
  return (sum * size * (bold ? BOLD : 1)) / 100;
}

/** A name from outside may be longer than anything that can be looked at. */
const LETTERS_AT_MOST = 2000;

/** Broken into lines that fit the width; a word that does not is broken itself. At most `most` lines, the last cut. */
export function wrap(text: string, size: number, width: number, most = Infinity): string[] {
  const lines: string[] = [];
  let line = '';
  const short = text.length > LETTERS_AT_MOST ? `${text.slice(0, LETTERS_AT_MOST)}…` : text;
  const words = short.split(' ').flatMap((word) => pieces(word, size, width));
  for (const [index, word] of words.entries()) {
    const longer = line === '' ? word : `${line} ${word}`;
    if (line === '' || textWidth(longer, size) <= width) {
      line = longer;
      continue;
    }
    if (lines.length === most - 1)
      return [...lines, cut([line, ...words.slice(index)].join(' '), size, width)];
    lines.push(line);
    line = word;
  }
  return line === '' ? lines : [...lines, line];
}

/** A long name breaks after `_`, `.` or between small and capital letters, else anywhere. */
function pieces(word: string, size: number, width: number): string[] {
  if (textWidth(word, size) <= width) return [word];
  const found: string[] = [];
  let line = '';
  for (const part of word.split(/(?<=[_.])|(?<=[a-z])(?=[A-Z])/)) {
    for (const letter of textWidth(part, size) <= width ? [part] : part) {
      if (line !== '' && textWidth(line + letter, size) > width) {
        found.push(line);
        line = '';
      }
      line += letter;
    }
  }
  return [...found, line];
}

/** The text cut to the width, its end marked. */
export function cut(text: string, size: number, width: number): string {
  if (textWidth(text, size) <= width) return text;
  const letters = Array.from(text.slice(0, LETTERS_AT_MOST));
  while (letters.length > 0 && textWidth(`${letters.join('')}…`, size) > width) letters.pop();
  return `${letters.join('').trimEnd()}…`;
}
