// Where each variable stands in the few 32-bit words of a packed state. No variable straddles two words.
import type { State, Variable } from '../model/form.ts';

export interface Field {
  readonly word: number;
  readonly shift: number;
  /** The field's bits, at their place in the word, as a signed 32-bit integer. */
  readonly mask: number;
  readonly bits: number;
}

export interface Layout {
  readonly words: number;
  /** In the order of the variables. */
  readonly fields: readonly Field[];
}

/** First fit, widest first: as few words as that gives. */
export function layoutOf(variables: readonly Variable[]): Layout {
  const used: number[] = [0];
  const fields: Field[] = [];
  const widths = variables.map(({ size }) => 32 - Math.clz32(size - 1));
  const order = [...widths.keys()].sort((a, b) => widths[b]! - widths[a]! || a - b);
  for (const i of order) {
    const bits = widths[i]!;
    let word = used.findIndex((taken) => taken + bits <= 32);
    if (word < 0) word = used.push(0) - 1;
    const shift = used[word]!;
    used[word] = shift + bits;
    fields[i] = { word, shift, bits, mask: bits === 0 ? 0 : ((2 ** bits - 1) << shift) | 0 };
  }
  return { words: used.length, fields };
}

/** Writes a state into `words` from word `at` on. */
export function pack(layout: Layout, state: State, words: Int32Array, at: number): void {
  words.fill(0, at, at + layout.words);
  for (const [i, { word, shift }] of layout.fields.entries()) {
    words[at + word]! |= state[i]! << shift;
  }
}

export function unpack(layout: Layout, words: Int32Array, at: number): State {
  return layout.fields.map(({ word, shift, mask }) => (words[at + word]! & mask) >>> shift);
}
