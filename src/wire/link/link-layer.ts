// From a captured packet to what it carries: Ethernet with stacked VLAN tags, Linux cooked captures, raw IP.
import { u16be } from '../bytes.ts';
import type { Packet } from '../capture/packet.ts';

export const ETHERTYPE_IPV4 = 0x0800;
export const ETHERTYPE_IPV6 = 0x86dd;
export const ETHERTYPE_HOMEPLUG = 0x88e1;

/** IEEE 802.1Q, 802.1ad, and the older number used for stacked tags. */
const VLAN_TAGS = new Set([0x8100, 0x88a8, 0x9100]);
const MAX_VLAN_TAGS = 8;

/** Numbers of the LINKTYPE_… registry of the pcap formats. */
const ETHERNET = 1;
const RAW_IP = 101;
const COOKED_1 = 113;
const COOKED_2 = 276;
const RAW_IPV4 = 228;
const RAW_IPV6 = 229;

/** Link types told by name when they turn up, and why they are not read. */
const TOLD: Record<number, string> = {
  105: 'wireless LAN frames are not read',
  127: 'wireless LAN frames are not read',
  189: 'USB traffic is not read',
  220: 'USB traffic is not read',
  227: 'CAN bus: Systems A and B are not read yet',
};

/** The frame inside a packet; one object is reused for every packet. */
export interface Frame {
  etherType: number;
  /** Where what the frame carries begins. */
  payload: number;
  /** Where the addresses stand, -1 when the link layer has none. */
  sender: number;
  receiver: number;
}

export function newFrame(): Frame {
  return { etherType: 0, payload: 0, sender: -1, receiver: -1 };
}

/** Name of a link type for people, and why it is not read when it is not. */
export function linkTypeName(linkType: number): string {
  switch (linkType) {
    case ETHERNET:
      return 'Ethernet';
    case COOKED_1:
      return 'Linux cooked capture';
    case COOKED_2:
      return 'Linux cooked capture, version 2';
    case RAW_IP:
    case RAW_IPV4:
    case RAW_IPV6:
      return 'raw IP';
    default:
      return TOLD[linkType] ?? 'its link layer is not read';
  }
}

/** Whether packets of this link type are read at all. */
export function isLinkTypeRead(linkType: number): boolean {
  return [ETHERNET, RAW_IP, COOKED_1, COOKED_2, RAW_IPV4, RAW_IPV6].includes(linkType);
}

/** Fills `frame` from a packet of a link type that is read; false when the packet is too short for it. */
export function readFrame(packet: Packet, frame: Frame): boolean {
  const { bytes, start, end } = packet;
  frame.sender = -1;
  frame.receiver = -1;
  switch (packet.linkType) {
    case ETHERNET:
      if (start + 14 > end) return false;
      frame.receiver = start;
      frame.sender = start + 6;
      return readEtherType(frame, bytes, start + 12, end);
    case COOKED_1:
      // Packet type, hardware type, address length, address (8), protocol.
      if (start + 16 > end) return false;
      if (u16be(bytes, start + 4) === 6) frame.sender = start + 6;
      return readEtherType(frame, bytes, start + 14, end);
    case COOKED_2:
      // Protocol, reserved, interface, hardware type, packet type, address length, address (8).
      if (start + 20 > end) return false;
      if (bytes[start + 11] === 6) frame.sender = start + 12;
      frame.etherType = u16be(bytes, start);
      frame.payload = start + 20;
      return !VLAN_TAGS.has(frame.etherType) || readEtherType(frame, bytes, start + 22, end);
    default:
      if (start >= end) return false;
      frame.etherType = bytes[start]! >> 4 === 4 ? ETHERTYPE_IPV4 : ETHERTYPE_IPV6;
      frame.payload = start;
      return true;
  }
}

/** Reads the type at `at` and goes past VLAN tags, each of which is a tag and the type it hides. */
function readEtherType(frame: Frame, bytes: Uint8Array, at: number, end: number): boolean {
  let typeAt = at;
  for (let tags = 0; tags <= MAX_VLAN_TAGS; tags++) {
    if (typeAt + 2 > end) return false;
    frame.etherType = u16be(bytes, typeAt);
    frame.payload = typeAt + 2;
    if (!VLAN_TAGS.has(frame.etherType)) return true;
    typeAt += 4;
  }
  return false;
}
