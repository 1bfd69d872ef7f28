// All states found, packed, in the order they were found, and an open-addressing index over them that compares whole
// states. Breadth first means that parents come in order, so a mark for each batch is enough to find them again.
import type { Layout } from './layout.ts';

/** Puts `n` packed states of `out` behind the `count` of `store` unless known; returns the new count. */
type Insert = (
  out: Int32Array,
  n: number,
  slots: Int32Array,
  seen: Int32Array,
  index: Int32Array,
  shift: number,
  store: Int32Array,
  count: number,
) => number;

/** Writes the number of each of `n` states, all of them known, into `found`. */
type Locate = (
  out: Int32Array,
  n: number,
  found: Int32Array,
  index: Int32Array,
  shift: number,
  store: Int32Array,
) => void;

type Rehash = (store: Int32Array, count: number, index: Int32Array, shift: number) => void;

/** At this share of used slots the index doubles. */
const MAXIMUM_LOAD = 0.65;
const FIRST_SLOTS = 1 << 12;

export class StateStore {
  words: Int32Array;
  count = 0;
  readonly #layout: Layout;
  readonly #code: { insert: Insert; locate: Locate; rehash: Rehash };
  /** Number of a state + 1, or 0. */
  #index = new Int32Array(FIRST_SLOTS);
  #shift = 32 - Math.log2(FIRST_SLOTS);
  /** For each batch its first parent and the first state it could find. */
  readonly #firstParents: number[] = [];
  readonly #firstChildren: number[] = [];
  readonly #slots: Int32Array;
  readonly #seen: Int32Array;

  /** At most `batch` states are inserted at once. */
  constructor(layout: Layout, batch: number) {
    this.#layout = layout;
    this.#code = codeFor(layout.words);
    this.words = new Int32Array(FIRST_SLOTS * layout.words);
    this.#slots = new Int32Array(batch);
    this.#seen = new Int32Array(batch);
  }

  /** Bytes that are allocated. */
  get bytes(): number {
    const marks = 8 * (this.#firstParents.length + this.#firstChildren.length);
    return this.words.byteLength + this.#index.byteLength + marks;
  }

  /** Bytes that would be allocated at the worst moment of making room for `n` more states. */
  bytesWith(n: number): number {
    const { words, slots } = this.#needed(n);
    const grownWords = words > this.words.length ? words * 4 : 0;
    const grownIndex = slots > this.#index.length ? slots * 4 : 0;
    return this.bytes + grownWords + grownIndex;
  }

  /** Adds what is new of `n` packed states that follow from states `parent` on. */
  insert(out: Int32Array, n: number, parent: number): void {
    this.#makeRoom(n);
    this.#firstParents.push(parent);
    this.#firstChildren.push(this.count);
    this.count = this.#code.insert(
      out,
      n,
      this.#slots,
      this.#seen,
      this.#index,
      this.#shift,
      this.words,
      this.count,
    );
  }

  /** The numbers of `n` packed states that are all known. */
  locate(out: Int32Array, n: number): Int32Array {
    this.#code.locate(out, n, this.#slots, this.#index, this.#shift, this.words);
    return this.#slots;
  }

  /** States one of which was the first to lead to `state`: from, and the one behind the last. */
  parentsOf(state: number): { from: number; to: number } {
    let [low, high] = [0, this.#firstChildren.length];
    while (high - low > 1) {
      const middle = (low + high) >>> 1;
      if (this.#firstChildren[middle]! <= state) low = middle;
      else high = middle;
    }
    return { from: this.#firstParents[low]!, to: this.#firstParents[low + 1] ?? this.count };
  }

  #needed(n: number): { words: number; slots: number } {
    const count = this.count + n;
    let words = this.words.length;
    while (words < count * this.#layout.words) words *= 2;
    let slots = this.#index.length;
    while (slots * MAXIMUM_LOAD < count) slots *= 2;
    return { words, slots };
  }

  #makeRoom(n: number): void {
    const { words, slots } = this.#needed(n);
    if (words > this.words.length) {
      const larger = new Int32Array(words);
      larger.set(this.words.subarray(0, this.count * this.#layout.words));
      this.words = larger;
    }
    if (slots > this.#index.length) {
      this.#index = new Int32Array(slots);
      this.#shift = 32 - Math.log2(slots);
      this.#code.rehash(this.words, this.count, this.#index, this.#shift);
    }
  }
}

/**
 * Code for states of `k` words. `insert` goes over a batch three times, because the processor overlaps the cache misses
 * of a plain loop of loads, and not those of a loop that branches on each.
 */
function codeFor(k: number): { insert: Insert; locate: Locate; rehash: Rehash } {
  const words = Array.from({ length: k }, (_, word) => word);
  const read = (array: string, at: string): string =>
    words.map((word) => `const w${word} = ${array}[${at} + ${word}];`).join(' ');
  const same = (at: string): string =>
    words.map((word) => `store[${at} + ${word}] === w${word}`).join(' && ');
  const hash = hashSource(k);
  const known = (then: string): string => `
    let s = h >>> shift;
    for (;;) {
      const seen = index[s];
      ${then}
      const at = Math.imul(seen - 1, ${k});
      if (${same('at')}) break;
      s = s + 1 & mask;
    }`;
  const insert = `
    const mask = index.length - 1;
    for (let j = 0, o = 0; j < n; j++, o += ${k}) {
      ${read('out', 'o')} ${hash}
      const s = h >>> shift;
      slots[j] = s;
      seen[j] = index[s];
    }
    for (let j = 0, o = 0; j < n; j++, o += ${k}) {
      const at = Math.imul(seen[j] - 1, ${k});
      if (at < 0) continue;
      ${read('out', 'o')}
      if (${same('at')}) seen[j] = -1;
    }
    for (let j = 0, o = 0; j < n; j++, o += ${k}) {
      if (seen[j] < 0) continue;
      ${read('out', 'o')}
      let s = slots[j];
      for (;;) {
        const known = index[s];
        if (known === 0) {
          const at = Math.imul(count, ${k});
          ${words.map((word) => `store[at + ${word}] = w${word};`).join(' ')}
          count++;
          index[s] = count;
          break;
        }
        const at = Math.imul(known - 1, ${k});
        if (${same('at')}) break;
        s = s + 1 & mask;
      }
    }
    return count;`;
  const locate = `
    const mask = index.length - 1;
    for (let j = 0, o = 0; j < n; j++, o += ${k}) {
      ${read('out', 'o')} ${hash}
      ${known('')}
      found[j] = index[s] - 1;
    }`;
  const rehash = `
    const mask = index.length - 1;
    for (let i = 0, o = 0; i < count; i++, o += ${k}) {
      ${read('store', 'o')} ${hash}
      let s = h >>> shift;
      while (index[s] !== 0) s = s + 1 & mask;
      index[s] = i + 1;
    }`;
  return {
    insert: made<Insert>('out, n, slots, seen, index, shift, store, count', insert),
    locate: made<Locate>('out, n, found, index, shift, store', locate),
    rehash: made<Rehash>('store, count, index, shift', rehash),
  };
}

/** Multiplicative mixing (constants of the common 32-bit finalisers); its top bits are the slot. */
function hashSource(k: number): string {
  const lines = ['let h = Math.imul(w0, 0x9e3779b1);'];
  for (let word = 1; word < k; word++) {
    lines.push(`h = Math.imul(h ^ h >>> 15 ^ w${word}, 0x85ebca6b);`);
  }
  lines.push('h = Math.imul(h ^ h >>> 16, 0xc2b2ae35);');
  return lines.join(' ');
}

function made<F>(parameters: string, body: string): F {
  // eslint-disable-next-line no-new-func
  return new Function(`'use strict'; return function (${parameters}) { ${body} };`)() as F;
}
