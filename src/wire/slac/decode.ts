// One HomePlug management frame to named fields (header: MMV, MMTYPE little-endian, FMI and FMSN).
import { hexText, macText, u16le } from '../bytes.ts';
import { InputError } from '../../trace/input-error.ts';
import { LAYOUTS } from './layouts.ts';
import type { JsonObject } from '../../trace/observation.ts';
import type { Field, Layout } from './layouts.ts';

/** MMV, MMTYPE (2), FMI, FMSN. */
const HEADER_BYTES = 5;

export interface SlacMessage {
  layout: Layout;
  message: JsonObject;
}

/**
 * Decodes `bytes[start..end)`, which begins behind the EtherType; bytes behind the body are padding.
 * Null for a management message that is no part of matching (a vendor's, or the network's own).
 * @throws InputError with `place.byte` counted from `start`, for a matching message that cannot be read.
 */
export function decodeSlac(bytes: Uint8Array, start: number, end: number): SlacMessage | null {
  if (end - start < 3) {
    throw new InputError('the management frame ends inside its header', { byte: end - start }, '');
  }
  const layout = LAYOUTS.get(u16le(bytes, start + 1));
  // Version 0 is the older numbering of the same codes, without fragmentation bytes.
  if (layout === undefined || bytes[start] === 0) return null;
  if (end - start < HEADER_BYTES) {
    throw new InputError(`${layout.name} ends inside its header`, { byte: end - start }, '');
  }
  // The number of fragments beyond the first stands in the low half of FMI.
  if ((bytes[start + 3]! & 0x0f) !== 0) {
    throw new InputError(`${layout.name} comes in fragments, which are not read`, { byte: 3 }, '');
  }
  return { layout, message: decodeBody(layout, bytes, start, end) };
}

function decodeBody(layout: Layout, bytes: Uint8Array, start: number, end: number): JsonObject {
  const message: JsonObject = {};
  let at = start + HEADER_BYTES;
  for (const field of layout.fields) {
    const size = fieldSize(field, message, bytes, at, end);
    if (at + size > end) {
      const what = `${layout.name} ends inside ${field[0]}`;
      throw new InputError(what, { byte: end - start }, 'the frame is shorter than the message');
    }
    const value = fieldValue(field, bytes, at, size);
    if (value !== undefined) message[field[0]] = value;
    at += size;
  }
  return message;
}

/** Bytes of a field; those of variable length depend on a field before them. */
function fieldSize(
  field: Field,
  message: JsonObject,
  bytes: Uint8Array,
  at: number,
  end: number,
): number {
  const [, size, kind] = field;
  if (kind === 'profile') return message['NumGroups'] as number;
  if (kind === 'nibbles') return Math.ceil((message['AMLEN'] as number) / 2);
  if (kind !== 'ciphers' || message['SECURITY_TYPE'] !== 1) return size;
  // CipherSuiteSetSize, then as many suites of two bytes.
  return at < end ? 1 + 2 * bytes[at]! : 1;
}

function fieldValue(
  [, , kind]: Field,
  bytes: Uint8Array,
  at: number,
  size: number,
): string | number | number[] | undefined {
  switch (kind) {
    case 'number':
      return bytes[at]!;
    case 'little-endian':
      return u16le(bytes, at);
    case 'mac':
      return macText(bytes, at);
    case 'hex':
    case 'nibbles':
      return hexText(bytes, at, at + size);
    case 'profile':
      return Array.from(bytes.subarray(at, at + size));
    case 'ciphers':
      if (size === 0) return undefined;
      return Array.from({ length: (size - 1) / 2 }, (_, index) => u16le(bytes, at + 1 + 2 * index));
    case 'withheld':
      return 'withheld';
  }
}
