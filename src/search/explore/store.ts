// What was found. A row is a key with the bits of all inner values found with it; an open-addressing index over rows
// compares whole keys. The log lists, level by level, which bits came to which row: it is the queue of the search, and
// what traces are rebuilt from.
import { COUNT_BITS } from './compile.ts';
import type { Layout } from './layout.ts';

/** Puts `n` keys with bits into rows and log; reads and writes `counts`: rows, entries, states. */
type Insert = (
  out: Int32Array,
  n: number,
  slots: Int32Array,
  seen: Int32Array,
  index: Int32Array,
  shift: number,
  rows: Int32Array,
  log: Int32Array,
  counts: Float64Array,
  levelStart: number,
) => void;

/** Writes the row of each of `n` known keys into `found`. */
type Locate = (
  out: Int32Array,
  n: number,
  found: Int32Array,
  index: Int32Array,
  shift: number,
  rows: Int32Array,
) => void;

type Rehash = (rows: Int32Array, count: number, index: Int32Array, shift: number) => void;

/** At this share of used slots the index doubles. */
const MAXIMUM_LOAD = 0.65;
const FIRST_SLOTS = 1 << 12;
/** What 32-bit offsets can number. */
const MAXIMUM_OFFSET = 2 ** 31 - 1;

export class StateStore {
  /** Of each row: its key, its bits, and its last entry in the log. */
  rows: Int32Array;
  /** Of each entry: its row and the bits that were new. */
  log = new Int32Array(FIRST_SLOTS * 2);
  /** The first entry of each level. */
  readonly levels: number[] = [0];
  readonly #stride: number;
  readonly #code: { insert: Insert; locate: Locate; rehash: Rehash };
  readonly #counts = new Float64Array(3);
  /** Number of a row + 1, or 0. */
  #index = new Int32Array(FIRST_SLOTS);
  #shift = 32 - Math.log2(FIRST_SLOTS);
  readonly #slots: Int32Array;
  readonly #seen: Int32Array;
  readonly #most: number;

  /** At most `most` keys are inserted at once. */
  constructor(layout: Layout, most: number) {
    this.#stride = layout.words + 2;
    this.#code = codeFor(layout.words);
    this.rows = new Int32Array(FIRST_SLOTS * this.#stride);
    this.#slots = new Int32Array(most);
    this.#seen = new Int32Array(most);
    this.#most = most;
  }

  get rowCount(): number {
    return this.#counts[0]!;
  }

  get entries(): number {
    return this.#counts[1]!;
  }

  get states(): number {
    return this.#counts[2]!;
  }

  /** Bytes that are allocated. */
  get bytes(): number {
    return this.rows.byteLength + this.log.byteLength + this.#index.byteLength;
  }

  /** Bytes that would be allocated at the worst moment of the next insertion; infinite beyond 32-bit offsets. */
  get nextBytes(): number {
    const { rows, log, index } = this.#needed(this.#most);
    if (Math.max(rows, log, index) > MAXIMUM_OFFSET) return Infinity;
    const grown = [
      rows > this.rows.length ? rows : 0,
      log > this.log.length ? log : 0,
      index > this.#index.length ? index : 0,
    ];
    return this.bytes + 4 * grown.reduce((sum, words) => sum + words);
  }

  /** Adds what is new of `n` keys with bits, all of the level that starts at entry `levelStart`. */
  insert(out: Int32Array, n: number, levelStart: number): void {
    this.#makeRoom(n);
    this.#code.insert(
      out,
      n,
      this.#slots,
      this.#seen,
      this.#index,
      this.#shift,
      this.rows,
      this.log,
      this.#counts,
      levelStart,
    );
  }

  /** The rows of `n` keys that are all known. */
  locate(out: Int32Array, n: number): Int32Array {
    this.#code.locate(out, n, this.#slots, this.#index, this.#shift, this.rows);
    return this.#slots;
  }

  #needed(n: number): { rows: number; log: number; index: number } {
    return {
      rows: doubled(this.rows.length, (this.rowCount + n) * this.#stride),
      log: doubled(this.log.length, (this.entries + n) * 2),
      index: doubled(this.#index.length, (this.rowCount + n) / MAXIMUM_LOAD),
    };
  }

  #makeRoom(n: number): void {
    const { rows, log, index } = this.#needed(n);
    if (rows > this.rows.length) this.rows = grown(this.rows, rows);
    if (log > this.log.length) this.log = grown(this.log, log);
    if (index > this.#index.length) {
      this.#index = new Int32Array(index);
      this.#shift = 32 - Math.log2(index);
      this.#code.rehash(this.rows, this.rowCount, this.#index, this.#shift);
    }
  }
}

function doubled(length: number, needed: number): number {
  let size = length;
  while (size < needed) size *= 2;
  return size;
}

function grown(words: Int32Array, length: number): Int32Array<ArrayBuffer> {
  const larger = new Int32Array(length);
  larger.set(words);
  return larger;
}

/**
 * Code for keys of `k` words. `insert` goes over a batch three times, because the processor overlaps the cache misses of
 * a plain loop of loads, and not those of a loop that branches on each.
 */
function codeFor(k: number): { insert: Insert; locate: Locate; rehash: Rehash } {
  const words = Array.from({ length: k }, (_, word) => word);
  const read = (array: string): string =>
    words.map((word) => `const w${word} = ${array}[o + ${word}];`).join(' ');
  const same = words.map((word) => `rows[at + ${word}] === w${word}`).join(' && ');
  const write = words.map((word) => `rows[at + ${word}] = w${word};`).join(' ');
  const each = `for (let j = 0, o = 0; j < n; j++, o += ${k + 1})`;
  const rowAt = (known: string): string => `const at = Math.imul(${known} - 1, ${k + 2});`;
  return {
    insert: make<Insert>(
      'out, n, slots, seen, index, shift, rows, log, counts, levelStart',
      `const mask = index.length - 1;
      let rowCount = counts[0] | 0, entries = counts[1] | 0, states = 0;
      ${each} { ${read('out')} ${hashOf(k)} const s = h >>> shift; slots[j] = s; seen[j] = index[s]; }
      ${each} {
        ${rowAt('seen[j]')}
        if (at < 0) continue;
        ${read('out')}
        if (${same} && (out[o + ${k}] & ~rows[at + ${k}]) === 0) seen[j] = -1;
      }
      ${each} {
        if (seen[j] < 0) continue;
        ${read('out')}
        const bits = out[o + ${k}];
        let s = slots[j];
        for (;;) {
          const known = index[s];
          if (known === 0) {
            ${rowAt('rowCount + 1')}
            ${write}
            rows[at + ${k}] = bits; rows[at + ${k + 1}] = entries;
            log[2 * entries] = rowCount; log[2 * entries + 1] = bits;
            rowCount++; entries++; states += countBits(bits);
            index[s] = rowCount;
            break;
          }
          ${rowAt('known')}
          if (${same}) {
            const fresh = bits & ~rows[at + ${k}];
            if (fresh === 0) break;
            rows[at + ${k}] |= fresh;
            states += countBits(fresh);
            const last = rows[at + ${k + 1}];
            if (last >= levelStart) log[2 * last + 1] |= fresh;
            else {
              rows[at + ${k + 1}] = entries;
              log[2 * entries] = known - 1; log[2 * entries + 1] = fresh;
              entries++;
            }
            break;
          }
          s = s + 1 & mask;
        }
      }
      counts[0] = rowCount; counts[1] = entries; counts[2] += states;`,
    ),
    locate: make<Locate>(
      'out, n, found, index, shift, rows',
      `const mask = index.length - 1;
      ${each} {
        ${read('out')} ${hashOf(k)}
        let s = h >>> shift;
        for (;;) { ${rowAt('index[s]')} if (${same}) break; s = s + 1 & mask; }
        found[j] = index[s] - 1;
      }`,
    ),
    rehash: make<Rehash>(
      'rows, count, index, shift',
      `const mask = index.length - 1;
      for (let i = 0, o = 0; i < count; i++, o += ${k + 2}) {
        ${read('rows')} ${hashOf(k)}
        let s = h >>> shift;
        while (index[s] !== 0) s = s + 1 & mask;
        index[s] = i + 1;
      }`,
    ),
  };
}

/** Multiplicative mixing, with constants of common 32-bit finalisers; the top bits are the slot. */
function hashOf(k: number): string {
  const lines = ['let h = Math.imul(w0, 0x9e3779b1);'];
  for (let word = 1; word < k; word++) {
    lines.push(`h = Math.imul(h ^ h >>> 15 ^ w${word}, 0x85ebca6b);`);
  }
  lines.push('h = Math.imul(h ^ h >>> 16, 0xc2b2ae35);');
  return lines.join(' ');
}

function make<F>(parameters: string, body: string): F {
  const source = `'use strict'; ${COUNT_BITS} return function (${parameters}) { ${body} };`;
  return new Function(source)() as F;
}
