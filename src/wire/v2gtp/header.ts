// The 8-byte V2GTP header: version, inverse version, payload type, payload length (ISO 15118-2:2014
// clause 7.8.3, DIN SPEC 70121:2014 clause 8.7; values `from memory`).
import { u16be, u32be } from '../bytes.ts';

export const V2GTP_HEADER_BYTES = 8;
const V2GTP_VERSION = 0x01;
const V2GTP_INVERSE_VERSION = 0xfe;

/** DIN, ISO 15118-2, and the application-protocol handshake. */
export const PAYLOAD_EXI = 0x8001;
export const PAYLOAD_SDP_REQUEST = 0x9000;
export const PAYLOAD_SDP_RESPONSE = 0x9001;

/** ISO 15118-20 messages have types of their own, `from memory`. */
const FIRST_PART_20_TYPE = 0x8002;
const LAST_PART_20_TYPE = 0x8106;
const FIRST_MANUFACTURER_TYPE = 0xa000;

/** Far above any message (certificate chains reach some tens of kilobytes), far below a hostile length. */
export const MAX_PAYLOAD_BYTES = 1024 * 1024;

/** Why these 8 bytes are no V2GTP header, with the offset of the bad byte; null when they are one. */
export function headerFault(bytes: Uint8Array, at: number): { says: string; byte: number } | null {
  const version = bytes[at]!;
  const inverse = bytes[at + 1]!;
  if (version !== V2GTP_VERSION) {
    return { says: `no V2GTP header: version ${version}, 1 was expected`, byte: 0 };
  }
  if (inverse !== V2GTP_INVERSE_VERSION) {
    return { says: `no V2GTP header: the inverse version ${inverse} should be 254`, byte: 1 };
  }
  const length = payloadLength(bytes, at);
  if (length > MAX_PAYLOAD_BYTES) {
    return { says: `V2GTP payload length ${length} is beyond any message`, byte: 4 };
  }
  return null;
}

export function payloadType(bytes: Uint8Array, at: number): number {
  return u16be(bytes, at + 2);
}

export function payloadLength(bytes: Uint8Array, at: number): number {
  return u32be(bytes, at + 4);
}

/** What a payload type stands for that is not read here. */
export function payloadTypeName(type: number): string {
  const code = `0x${type.toString(16).toUpperCase()}`;
  if (type >= FIRST_PART_20_TYPE && type <= LAST_PART_20_TYPE) return `${code} (ISO 15118-20)`;
  if (type >= FIRST_MANUFACTURER_TYPE) return `${code} (manufacturer specific)`;
  return code;
}

/**
 * Looks for the next header in `bytes[from..end)`, after damage or in the middle of a stream. Gives the
 * offset of a certain header, or of a tail too short to tell, or `end`.
 */
export function findHeader(bytes: Uint8Array, from: number, end: number): number {
  for (let at = from; at < end; at++) {
    if (bytes[at] !== V2GTP_VERSION) continue;
    if (at + 1 < end && bytes[at + 1] !== V2GTP_INVERSE_VERSION) continue;
    if (at + 2 < end && bytes[at + 2]! < 0x80) continue;
    if (at + V2GTP_HEADER_BYTES > end || headerFault(bytes, at) === null) return at;
  }
  return end;
}

/** Whether `bytes[start..end)` begins with the whole header of a message. */
export function isPlainStart(bytes: Uint8Array, start: number, end: number): boolean {
  return (
    end - start >= V2GTP_HEADER_BYTES &&
    headerFault(bytes, start) === null &&
    payloadType(bytes, start) >= PAYLOAD_EXI
  );
}
