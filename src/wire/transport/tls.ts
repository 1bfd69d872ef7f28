// TLS told from plain V2GTP by its record header (RFC 8446 section 5.1): content type, then version 3.x.

const FIRST_CONTENT_TYPE = 0x14;
const LAST_CONTENT_TYPE = 0x17;
const HIGHEST_MINOR_VERSION = 0x04;

/** Whether a stream that begins with `bytes[start..end)`, or is joined there, is TLS. */
export function isTlsRecord(bytes: Uint8Array, start: number, end: number): boolean {
  return (
    end - start >= 3 &&
    bytes[start]! >= FIRST_CONTENT_TYPE &&
    bytes[start]! <= LAST_CONTENT_TYPE &&
    bytes[start + 1] === 0x03 &&
    bytes[start + 2]! <= HIGHEST_MINOR_VERSION
  );
}
