// Reading numbers and addresses out of bytes. Callers check the bounds first.

export function u16be(bytes: Uint8Array, at: number): number {
  return (bytes[at]! << 8) | bytes[at + 1]!;
}

export function u16le(bytes: Uint8Array, at: number): number {
  return (bytes[at + 1]! << 8) | bytes[at]!;
}

export function u32be(bytes: Uint8Array, at: number): number {
  return (
    ((bytes[at]! << 24) | (bytes[at + 1]! << 16) | (bytes[at + 2]! << 8) | bytes[at + 3]!) >>> 0
  );
}

export function u32le(bytes: Uint8Array, at: number): number {
  return (
    ((bytes[at + 3]! << 24) | (bytes[at + 2]! << 16) | (bytes[at + 1]! << 8) | bytes[at]!) >>> 0
  );
}

const lowerHex = Array.from({ length: 256 }, (_, byte) => byte.toString(16).padStart(2, '0'));
const upperHex = lowerHex.map((digits) => digits.toUpperCase());

/** Upper-case hexadecimal digits without separators. */
export function hexText(bytes: Uint8Array, start: number, end: number): string {
  let text = '';
  for (let at = start; at < end; at++) text += upperHex[bytes[at]!]!;
  return text;
}

/** A capture knows few link-layer addresses and names them in every message: their texts are kept. */
const macTexts = new Map<number, string>();
const MAX_MAC_TEXTS = 1024;

/** A link-layer address, lower case with colons. */
export function macText(bytes: Uint8Array, at: number): string {
  const number = macNumber(bytes, at);
  let text = macTexts.get(number);
  if (text !== undefined) return text;
  text = Array.from(bytes.subarray(at, at + 6), (byte) => lowerHex[byte]!).join(':');
  if (macTexts.size >= MAX_MAC_TEXTS) macTexts.clear();
  macTexts.set(number, text);
  return text;
}

/** A link-layer address as a whole number, to compare and look up by. */
export function macNumber(bytes: Uint8Array, at: number): number {
  return u16be(bytes, at) * 0x1_0000_0000 + u32be(bytes, at + 2);
}

/** An IPv4 (4 bytes) or IPv6 (16 bytes) address as text; IPv6 in the form of RFC 5952. */
export function addressText(bytes: Uint8Array, at: number, length: number): string {
  if (length === 4) return bytes.subarray(at, at + 4).join('.');
  const groups: number[] = [];
  for (let index = 0; index < 16; index += 2) groups.push(u16be(bytes, at + index));
  const [runStart, runLength] = longestZeroRun(groups);
  if (runLength < 2) return groupsText(groups);
  const before = groupsText(groups.slice(0, runStart));
  return `${before}::${groupsText(groups.slice(runStart + runLength))}`;
}

function groupsText(groups: number[]): string {
  return groups.map((group) => group.toString(16)).join(':');
}

/** RFC 5952 section 4.2.3: the longest run of zero groups is shortened, the first of equals. */
function longestZeroRun(groups: number[]): [start: number, length: number] {
  let best: [number, number] = [0, 0];
  let start = 0;
  for (let index = 0; index <= groups.length; index++) {
    if (groups[index] === 0) continue;
    if (index - start > best[1]) best = [start, index - start];
    start = index + 1;
  }
  return best;
}

/** `[address]:port`, the form of RFC 3986 for an IPv6 address. */
export function endText(address: string, port: number): string {
  return address.includes(':') ? `[${address}]:${port}` : `${address}:${port}`;
}

/** Whether two stretches of the same length hold the same bytes. */
export function sameBytes(
  left: Uint8Array,
  leftAt: number,
  right: Uint8Array,
  rightAt: number,
  length: number,
): boolean {
  for (let index = 0; index < length; index++) {
    if (left[leftAt + index] !== right[rightAt + index]) return false;
  }
  return true;
}
