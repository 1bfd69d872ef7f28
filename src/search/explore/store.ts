// What was found. A row is a key with the bits of all inner values found with it; an open-addressing index over rows
// compares whole keys. The log lists, level by level, which bits came to which row: it is the queue of the search, and
// what traces are rebuilt from.
import type { Layout } from './layout.ts';
import { storeCode } from './store-code.ts';
import type { Insert, Locate, Rehash } from './store-code.ts';

/** At this share of used slots the index doubles. */
const MAXIMUM_LOAD = 0.65;
const FIRST_SLOTS = 1 << 12;
/** What 32-bit offsets can number. */
const MAXIMUM_OFFSET = 2 ** 31 - 1;

export class StateStore {
  /** Of each row: its key, its bits, and its last entry in the log. Rows are numbered from 1; row 0 is never used. */
  rows: Int32Array;
  /** Of each entry: its row and the bits that were new. */
  log = new Int32Array(FIRST_SLOTS * 2);
  /** The first entry of each level. */
  readonly levels: number[] = [0];
  readonly #stride: number;
  readonly #code: { insert: Insert; locate: Locate; rehash: Rehash };
  readonly #counts = new Float64Array(3);
  /** Number of a row, or 0. */
  #index = new Int32Array(FIRST_SLOTS);
  #shift = 32 - Math.log2(FIRST_SLOTS);
  readonly #slots: Int32Array;
  readonly #seen: Int32Array;
  readonly #bitsSeen: Int32Array;
  readonly #most: number;

  /** At most `most` keys are inserted at once. */
  constructor(layout: Layout, most: number) {
    this.#stride = layout.words + 2;
    this.#code = storeCode(layout.words);
    this.rows = new Int32Array(FIRST_SLOTS * this.#stride);
    this.#slots = new Int32Array(most);
    this.#bitsSeen = new Int32Array(most);
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
    const added = [
      rows > this.rows.length ? rows : 0,
      log > this.log.length ? log : 0,
      index > this.#index.length ? index : 0,
    ];
    return this.bytes + 4 * added.reduce((sum, words) => sum + words);
  }

  /** Adds what is new of `n` keys with bits, all of the level that starts at entry `levelStart`. */
  insert(out: Int32Array, n: number, levelStart: number): void {
    this.#makeRoom(n);
    this.#code.insert(
      out,
      n,
      this.#slots,
      this.#seen,
      this.#bitsSeen,
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
    this.#code.locate(out, n, this.#seen, this.#index, this.#shift, this.rows);
    return this.#seen;
  }

  #needed(n: number): { rows: number; log: number; index: number } {
    return {
      rows: doubled(this.rows.length, (this.rowCount + n + 1) * this.#stride),
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
