// How a state is stored. Most variables are packed into the few 32-bit words of a key, none of them straddling two; up
// to five bits of variables are `inner`: all combinations of these that were found with one key are bits of one word.
// So one hash entry stands for up to 32 states, and a command that leaves inner variables alone moves all of them at once.
import type { State, Variable } from '../model/form.ts';

interface Field {
  readonly inner: boolean;
  /** Of the key; 0 for inner variables. */
  readonly word: number;
  readonly shift: number;
  readonly bits: number;
  /** The field's bits at their place in the word, as a signed 32-bit integer. */
  readonly mask: number;
}

export interface Layout {
  /** Of the key; at least 1. */
  readonly words: number;
  /** In the order of the variables. */
  readonly fields: readonly Field[];
  /** Together, of all inner variables. */
  readonly innerBits: number;
}

export const MAXIMUM_INNER_BITS = 5;

export function bitsOf({ size }: Variable): number {
  return 32 - Math.clz32(size - 1);
}

/** First fit, widest first: as few words as that gives. `inner` are numbers of variables. */
export function layoutOf(variables: readonly Variable[], inner: ReadonlySet<number>): Layout {
  const used: number[] = [0];
  const fields: Field[] = [];
  const widths = variables.map(bitsOf);
  const order = [...widths.keys()].sort((a, b) => widths[b]! - widths[a]! || a - b);
  let innerBits = 0;
  for (const i of order) {
    const bits = widths[i]!;
    if (inner.has(i)) {
      fields[i] = field(true, 0, innerBits, bits);
      innerBits += bits;
      continue;
    }
    let word = used.findIndex((taken) => taken + bits <= 32);
    if (word < 0) word = used.push(0) - 1;
    fields[i] = field(false, word, used[word]!, bits);
    used[word]! += bits;
  }
  return { words: used.length, fields, innerBits };
}

function field(inner: boolean, word: number, shift: number, bits: number): Field {
  const mask = bits === 0 ? 0 : ((2 ** bits - 1) << shift) | 0;
  return { inner, word, shift, bits, mask };
}

/** The number of a state's combination of inner values: the bit that stands for it. */
export function innerOf({ fields }: Layout, state: State): number {
  return fields.reduce((sum, { inner, shift }, i) => (inner ? sum | (state[i]! << shift) : sum), 0);
}

export function keyOf({ fields, words }: Layout, state: State): number[] {
  const key = Array.from({ length: words }, () => 0);
  for (const [i, { inner, word, shift }] of fields.entries()) {
    if (!inner) key[word]! |= state[i]! << shift;
  }
  return key;
}

/** The state of a key that stands in `words` from `at` on, and a number of inner values. */
export function stateOf(layout: Layout, words: Int32Array, at: number, inner: number): State {
  return layout.fields.map((place) => {
    const from = place.inner ? inner : words[at + place.word]!;
    return (from & place.mask) >>> place.shift;
  });
}
