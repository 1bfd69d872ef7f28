// The generated inner loops of the store, for keys of k words.
import { COUNT_BITS } from './compile.ts';

/** Puts `n` keys with bits into rows and log; reads and writes `counts`: rows, entries, states. */
export type Insert = (
  out: Int32Array,
  n: number,
  hashes: Int32Array,
  offsets: Int32Array,
  seen: Int32Array,
  recent: Int32Array,
  index: Int32Array,
  shift: number,
  rows: Int32Array,
  log: Int32Array,
  counts: Float64Array,
  levelStart: number,
) => void;

/** Writes the row of each of `n` known keys into `found`. */
export type Locate = (
  out: Int32Array,
  n: number,
  found: Int32Array,
  index: Int32Array,
  shift: number,
  rows: Int32Array,
) => void;

export type Rehash = (rows: Int32Array, count: number, index: Int32Array, shift: number) => void;

/** Rows that were used last, by the top bits of their hash; as many as fit the processor's nearer caches. */
export const RECENT_ROWS = 1 << 14;
const RECENT_SHIFT = 32 - Math.log2(RECENT_ROWS);

/** Pieces of source for keys of k words. */
interface Pieces {
  readonly k: number;
  /** Goes through the keys of `out`. */
  readonly each: string;
  /** Locals `w0` … of the key at word `o` of an array. */
  readonly read: (array: string) => string;
  /** `at`: where a row begins, by its number + 1. */
  readonly rowAt: (known: string) => string;
  readonly same: string;
  readonly write: string;
  readonly hash: string;
}

export function storeCode(k: number): { insert: Insert; locate: Locate; rehash: Rehash } {
  const words = Array.from({ length: k }, (_, word) => word);
  const pieces: Pieces = {
    k,
    each: `for (let j = 0, o = 0; j < n; j++, o += ${k + 1})`,
    read: (array) => words.map((word) => `const w${word} = ${array}[o + ${word}];`).join(' '),
    rowAt: (known) => `const at = Math.imul(${known} - 1, ${k + 2});`,
    same: words.map((word) => `rows[at + ${word}] === w${word}`).join(' && '),
    write: words.map((word) => `rows[at + ${word}] = w${word};`).join(' '),
    hash: hashOf(k),
  };
  return { insert: insertCode(pieces), locate: locateCode(pieces), rehash: rehashCode(pieces) };
}

/**
 * Most keys are those of rows used shortly before; a small table of recent rows, which stays in the processor's cache,
 * answers them. The others are looked up together, because the processor overlaps the cache misses of a plain loop of
 * loads, and not those of a loop that branches on each.
 */
function insertCode(pieces: Pieces): Insert {
  const { k, each, read, rowAt, same, write, hash } = pieces;
  return make<Insert>(
    'out, n, hashes, offsets, seen, recent, index, shift, rows, log, counts, levelStart',
    `const mask = index.length - 1;
    let rowCount = counts[0] | 0, entries = counts[1] | 0, states = 0, open = 0;
    ${each} {
      ${read('out')} ${hash}
      const row = recent[h >>> ${RECENT_SHIFT}];
      ${rowAt('row')}
      if (row !== 0 && ${same}) {
        const fresh = out[o + ${k}] & ~rows[at + ${k}];
        if (fresh === 0) continue;
        ${addBits(k, 'row - 1')}
        continue;
      }
      hashes[open] = h; offsets[open] = o; seen[open] = index[h >>> shift]; open++;
    }
    for (let j = 0; j < open; j++) {
      const o = offsets[j], h = hashes[j], bits = out[o + ${k}];
      ${read('out')}
      let s = h >>> shift;
      let known = seen[j];
      for (;;) {
        if (known === 0) {
          known = index[s];
          if (known !== 0) continue;
          ${rowAt('rowCount + 1')}
          ${write}
          rows[at + ${k}] = bits; rows[at + ${k + 1}] = entries;
          log[2 * entries] = rowCount; log[2 * entries + 1] = bits;
          rowCount++; entries++; states += countBits(bits);
          index[s] = known = rowCount;
          break;
        }
        ${rowAt('known')}
        if (${same}) {
          const fresh = bits & ~rows[at + ${k}];
          if (fresh !== 0) { ${addBits(k, 'known - 1')} }
          break;
        }
        s = s + 1 & mask;
        known = index[s];
      }
      recent[h >>> ${RECENT_SHIFT}] = known;
    }
    counts[0] = rowCount; counts[1] = entries; counts[2] += states;`,
  );
}

/** Puts `fresh` bits into the row at `at`, and into its log entry of this level, which may have to be made. */
function addBits(k: number, row: string): string {
  return `rows[at + ${k}] |= fresh;
    states += countBits(fresh);
    const last = rows[at + ${k + 1}];
    if (last >= levelStart) log[2 * last + 1] |= fresh;
    else {
      rows[at + ${k + 1}] = entries;
      log[2 * entries] = ${row}; log[2 * entries + 1] = fresh;
      entries++;
    }`;
}

function locateCode({ each, read, rowAt, same, hash }: Pieces): Locate {
  return make<Locate>(
    'out, n, found, index, shift, rows',
    `const mask = index.length - 1;
    ${each} {
      ${read('out')} ${hash}
      let s = h >>> shift;
      for (;;) { ${rowAt('index[s]')} if (${same}) break; s = s + 1 & mask; }
      found[j] = index[s] - 1;
    }`,
  );
}

function rehashCode({ k, read, hash }: Pieces): Rehash {
  return make<Rehash>(
    'rows, count, index, shift',
    `const mask = index.length - 1;
    for (let i = 0, o = 0; i < count; i++, o += ${k + 2}) {
      ${read('rows')} ${hash}
      let s = h >>> shift;
      while (index[s] !== 0) s = s + 1 & mask;
      index[s] = i + 1;
    }`,
  );
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
