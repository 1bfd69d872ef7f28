// Commands as a POSIX shell reads them.

// oxlint-disable-next-line no-control-regex
const CONTROL = /[\u0000-\u001f\u007f-\u009f\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff]/u;

/** One word, quoted only where needed; control characters as escapes of `$'…'`, so that printing is harmless. */
export function shellQuote(word: string): string {
  if (/^[A-Za-z0-9_@%+=:,./-]+$/.test(word)) return word;
  if (CONTROL.test(word)) return `$'${[...word].map(escaped).join('')}'`;
  return `'${word.replaceAll("'", `'\\''`)}'`;
}

function escaped(letter: string): string {
  if (letter === "'" || letter === '\\') return `\\${letter}`;
  if (!CONTROL.test(letter)) return letter;
  return [...Buffer.from(letter)]
    .map((byte) => `\\x${byte.toString(16).padStart(2, '0')}`)
    .join('');
}

/** A command line that can be pasted. A path that starts with a dash is told apart from an option. */
export function shellCommand(words: string[]): string {
  return words.map(shellQuote).join(' ');
}

/** A path as an operand: `./-x` for `-x`. */
export function asOperand(path: string): string {
  return path.startsWith('-') && path !== '-' ? `./${path}` : path;
}
