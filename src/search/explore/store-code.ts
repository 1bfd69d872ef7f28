// The generated inner loops of the store, for keys of k words.
import { COUNT_BITS } from './compile.ts';

/** Puts `n` keys with bits into rows and log; reads and writes `counts`: rows, entries, states. */
export type Insert = (
  out: Int32Array,
  n: number,
  slots: Int32Array,
  seen: Int32Array,
  bitsSeen: Int32Array,
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

/** Pieces of source for keys of k words. */
interface Pieces {
  readonly k: number;
  /** Goes through the keys of `out`. */
  readonly each: string;
  /** Locals `w0` … of the key at word `o` of an array. */
  readonly read: (array: string) => string;
  /** `at`: where a row begins. */
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
    rowAt: (known) => `const at = Math.imul(${known}, ${k + 2});`,
    same: words.map((word) => `rows[at + ${word}] === w${word}`).join(' && '),
    write: words.map((word) => `rows[at + ${word}] = w${word};`).join(' '),
    hash: hashOf(k),
  };
  return { insert: insertCode(pieces), locate: locateCode(pieces), rehash: rehashCode(pieces) };
}

/**
 * Goes over a batch three times: slots of the index, then rows, then what is new. The processor overlaps the cache misses
 * of the first two plain loops of loads, which it could not do if it had to branch on each.
 */
function insertCode({ k, each, read, rowAt, same, write, hash }: Pieces): Insert {
  return make<Insert>(
    'out, n, slots, seen, bitsSeen, index, shift, rows, log, counts, levelStart',
    `const mask = index.length - 1;
    let rowCount = counts[0] | 0, entries = counts[1] | 0, states = 0;
    ${each} { ${read('out')} ${hash} const s = h >>> shift; slots[j] = s; seen[j] = index[s]; }
    for (let j = 0; j < n; j++) { ${rowAt('seen[j]')} bitsSeen[j] = rows[at + ${k}]; }
    ${each} {
      const bits = out[o + ${k}];
      ${read('out')}
      let known = seen[j];
      let s = slots[j];
      if (known === 0) known = index[s];
      for (;;) {
        if (known === 0) {
          rowCount++;
          ${rowAt('rowCount')}
          ${write}
          rows[at + ${k}] = bits; rows[at + ${k + 1}] = entries;
          log[2 * entries] = rowCount; log[2 * entries + 1] = bits;
          entries++; states += countBits(bits);
          index[s] = rowCount;
          break;
        }
        ${rowAt('known')}
        if (${same}) {
          const fresh = bits & ~rows[at + ${k}];
          if (fresh !== 0) { ${addBits(k, 'known')} }
          break;
        }
        s = s + 1 & mask;
        known = index[s];
      }
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
      found[j] = index[s];
    }`,
  );
}

function rehashCode({ k, read, hash }: Pieces): Rehash {
  return make<Rehash>(
    'rows, count, index, shift',
    `const mask = index.length - 1;
    for (let i = 1, o = ${k + 2}; i <= count; i++, o += ${k + 2}) {
      ${read('rows')} ${hash}
      let s = h >>> shift;
      while (index[s] !== 0) s = s + 1 & mask;
      index[s] = i;
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
