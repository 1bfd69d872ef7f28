// IPv6 with its extension headers (RFC 8200) and IPv4 (RFC 791), as far as finding the transport header.
import { u16be, u32be } from '../bytes.ts';
import type { Datagram, NetworkResult } from './datagram.ts';

const HOP_BY_HOP = 0;
const ROUTING = 43;
const FRAGMENT = 44;
const AUTHENTICATION = 51;
const DESTINATION_OPTIONS = 60;

/** More extension headers than any sender uses (`common practice`: stacks refuse long chains). */
const MAX_EXTENSION_HEADERS = 16;

const IPV6_HEADER_BYTES = 40;
const IPV4_HEADER_BYTES = 20;

/** Reads the IPv6 packet `bytes[start..end)` into `datagram`. */
export function readIpv6(
  bytes: Uint8Array,
  start: number,
  end: number,
  datagram: Datagram,
): NetworkResult {
  if (start + IPV6_HEADER_BYTES > end || bytes[start]! >> 4 !== 6) {
    return { problem: 'its IPv6 header is cut or of another version' };
  }
  const first = start + IPV6_HEADER_BYTES;
  const length = u16be(bytes, start + 4);
  // Length 0 stands for a jumbogram, or a packet recorded before the network card split it.
  const claimedEnd = length === 0 ? end : first + length;
  datagram.bytes = bytes;
  datagram.source = start + 8;
  datagram.destination = start + 24;
  datagram.addressLength = 16;
  datagram.end = Math.min(claimedEnd, end);
  datagram.missing = claimedEnd - datagram.end;
  return walkExtensions(bytes[start + 6]!, first, datagram);
}

function walkExtensions(firstType: number, first: number, datagram: Datagram): NetworkResult {
  const { bytes, end } = datagram;
  let type = firstType;
  let at = first;
  for (let count = 0; count < MAX_EXTENSION_HEADERS; count++) {
    if (!isExtension(type)) {
      datagram.protocol = type;
      datagram.start = at;
      return 'whole';
    }
    if (at + 8 > end) return { problem: 'it ends inside an IPv6 extension header' };
    const next = bytes[at]!;
    if (type === FRAGMENT) {
      const field = u16be(bytes, at + 2);
      datagram.protocol = next;
      datagram.start = at + 8;
      const fragment = {
        id: u32be(bytes, at + 4),
        offset: field & 0xfff8,
        more: (field & 1) === 1,
      };
      // An "atomic" fragment (RFC 6946) is a whole packet.
      if (fragment.offset !== 0 || fragment.more) return fragment;
      at += 8;
    } else {
      const units = bytes[at + 1]!;
      at += type === AUTHENTICATION ? (units + 2) * 4 : (units + 1) * 8;
    }
    type = next;
    if (at > end) return { problem: 'it ends inside an IPv6 extension header' };
  }
  return { problem: `it has more than ${MAX_EXTENSION_HEADERS} IPv6 extension headers` };
}

function isExtension(type: number): boolean {
  return (
    type === HOP_BY_HOP ||
    type === ROUTING ||
    type === FRAGMENT ||
    type === AUTHENTICATION ||
    type === DESTINATION_OPTIONS
  );
}

/** Reads the IPv4 packet `bytes[start..end)` into `datagram`. */
export function readIpv4(
  bytes: Uint8Array,
  start: number,
  end: number,
  datagram: Datagram,
): NetworkResult {
  if (start + IPV4_HEADER_BYTES > end || bytes[start]! >> 4 !== 4) {
    return { problem: 'its IPv4 header is cut or of another version' };
  }
  const headerBytes = (bytes[start]! & 0x0f) * 4;
  const length = u16be(bytes, start + 2);
  const claimedEnd = length === 0 ? end : start + length;
  if (headerBytes < IPV4_HEADER_BYTES || start + headerBytes > Math.min(claimedEnd, end)) {
    return { problem: 'its IPv4 header length does not fit' };
  }
  datagram.bytes = bytes;
  datagram.source = start + 12;
  datagram.destination = start + 16;
  datagram.addressLength = 4;
  datagram.protocol = bytes[start + 9]!;
  datagram.start = start + headerBytes;
  datagram.end = Math.min(claimedEnd, end);
  datagram.missing = claimedEnd - datagram.end;
  const field = u16be(bytes, start + 6);
  const offset = (field & 0x1fff) * 8;
  const more = (field & 0x2000) !== 0;
  return offset === 0 && !more ? 'whole' : { id: u16be(bytes, start + 4), offset, more };
}
