// What an Interface Description Block tells (draft-ietf-opsawg-pcapng, section 4.2) and the options of it
// that times need.
import { u16be, u16le, u32be, u32le } from '../bytes.ts';
import { InterfaceClock, MICROSECONDS } from './clock.ts';
import type { FileClock, Resolution } from './clock.ts';

const OPTION_END = 0;
const OPTION_TIME_RESOLUTION = 9;
const OPTION_TIME_OFFSET = 14;

/** One recording interface of a section. */
export interface Interface {
  linkType: number;
  /** Most bytes kept of a packet; 0 for no limit. */
  snapshotLength: number;
  clock: InterfaceClock;
}

/** Reads the body of a block, `bytes[start..end)`; null when it is shorter than its fixed part. */
export function readInterface(
  bytes: Uint8Array,
  start: number,
  end: number,
  big: boolean,
  clock: FileClock,
): Interface | null {
  if (end - start < 8) return null;
  return {
    linkType: (big ? u16be : u16le)(bytes, start),
    snapshotLength: (big ? u32be : u32le)(bytes, start + 4),
    clock: new InterfaceClock(clock, readResolution(bytes, start + 8, end, big)),
  };
}

/** An option list ends at opt_endofopt or, where that is left out, with its block. */
function readResolution(bytes: Uint8Array, start: number, end: number, big: boolean): Resolution {
  const u16 = big ? u16be : u16le;
  const resolution = { ...MICROSECONDS };
  let at = start;
  while (at + 4 <= end) {
    const code = u16(bytes, at);
    const length = u16(bytes, at + 2);
    const value = at + 4;
    if (code === OPTION_END || value + length > end) break;
    if (code === OPTION_TIME_RESOLUTION && length === 1) {
      resolution.unitsPerSecond = unitsPerSecond(bytes[value]!);
    }
    if (code === OPTION_TIME_OFFSET && length === 8) {
      const view = new DataView(bytes.buffer, bytes.byteOffset + value, 8);
      resolution.offset_s = view.getBigInt64(0, !big);
    }
    at = value + Math.ceil(length / 4) * 4;
  }
  return resolution;
}

/** if_tsresol: a power of two when the most significant bit is set, else a power of ten. */
function unitsPerSecond(option: number): bigint {
  const exponent = BigInt(option & 0x7f);
  return (option & 0x80) === 0 ? 10n ** exponent : 2n ** exponent;
}
