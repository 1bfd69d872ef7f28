// Finding the next block of a damaged pcapng file: a known type, a sane length and the same length at its end.
import { u32be, u32le } from '../bytes.ts';

/** Reads the same in both byte orders. */
export const SECTION_HEADER = 0x0a0d0d0a;
export const BYTE_ORDER_MAGIC = 0x1a2b3c4d;
/** Type, total length, total length again. */
export const MIN_BLOCK_BYTES = 12;
/** Room for a block's own fields and options around a packet. */
export const PROBE_BYTES = 64 * 1024;

/** Types worth going on from; sections aside these are small numbers, and any other may be plain data. */
const HIGHEST_KNOWN_TYPE = 0x0000000a;
/** A false find makes the search wait for that many bytes at most. */
const MAX_FOUND_BYTES = 1024 * 1024;

export interface Found {
  /** Where to go on: the whole block, or as far as nothing can begin before. */
  at: number;
  whole: boolean;
  /** Bytes from `at` on that are needed before looking again. */
  needed: number;
}

/** Looks through `bytes[start..end)`; with `last` no more bytes will come. */
export function findBlock(
  bytes: Uint8Array,
  start: number,
  end: number,
  big: boolean,
  last: boolean,
): Found {
  const u32 = big ? u32be : u32le;
  for (let at = start; at + MIN_BLOCK_BYTES <= end; at++) {
    const type = u32(bytes, at);
    if (type === SECTION_HEADER) {
      const magicBig = u32be(bytes, at + 8) === BYTE_ORDER_MAGIC;
      if (magicBig || u32le(bytes, at + 8) === BYTE_ORDER_MAGIC)
        return { at, whole: true, needed: 0 };
      continue;
    }
    if (type === 0 || type > HIGHEST_KNOWN_TYPE) continue;
    const length = u32(bytes, at + 4);
    if (length < MIN_BLOCK_BYTES || length % 4 !== 0 || length > MAX_FOUND_BYTES) continue;
    if (at + length > end) {
      if (last) continue;
      return { at, whole: false, needed: length };
    }
    if (u32(bytes, at + length - 4) === length) return { at, whole: true, needed: 0 };
  }
  const rest = Math.max(start, end - MIN_BLOCK_BYTES + 1);
  return { at: rest, whole: false, needed: MIN_BLOCK_BYTES };
}
