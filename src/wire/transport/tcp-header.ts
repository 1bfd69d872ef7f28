// The TCP header (RFC 9293 section 3.1).
import { u16be, u32be } from '../bytes.ts';

export const FIN = 0x01;
export const SYN = 0x02;
export const RST = 0x04;
export const ACK = 0x10;

const MIN_HEADER_BYTES = 20;

/** One segment; the object is reused for every packet. */
export interface Segment {
  sourcePort: number;
  destinationPort: number;
  sequence: number;
  acknowledgement: number;
  flags: number;
  bytes: Uint8Array;
  /** Its data are `bytes[start..end)`, and `missing` more that were not recorded. */
  start: number;
  end: number;
  missing: number;
}

export function newSegment(): Segment {
  return {
    sourcePort: 0,
    destinationPort: 0,
    sequence: 0,
    acknowledgement: 0,
    flags: 0,
    bytes: new Uint8Array(0),
    start: 0,
    end: 0,
    missing: 0,
  };
}

/** Reads the segment `bytes[start..end)`; false when its header is cut or its length does not fit. */
export function readSegment(
  bytes: Uint8Array,
  start: number,
  end: number,
  missing: number,
  segment: Segment,
): boolean {
  if (start + MIN_HEADER_BYTES > end) return false;
  const headerBytes = (bytes[start + 12]! >> 4) * 4;
  if (headerBytes < MIN_HEADER_BYTES || start + headerBytes > end) return false;
  segment.sourcePort = u16be(bytes, start);
  segment.destinationPort = u16be(bytes, start + 2);
  segment.sequence = u32be(bytes, start + 4);
  segment.acknowledgement = u32be(bytes, start + 8);
  segment.flags = bytes[start + 13]!;
  segment.bytes = bytes;
  segment.start = start + headerBytes;
  segment.end = end;
  segment.missing = missing;
  return true;
}
