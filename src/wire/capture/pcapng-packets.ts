// The blocks of a pcapng section that matter here: interfaces and packets. All others are skipped by their
// length; a Decryption Secrets Block among them is never looked into.
import { u16be, u16le, u32be, u32le } from '../bytes.ts';
import { readInterface } from './pcapng-interface.ts';
import type { FileClock } from './clock.ts';
import type { Packet, PacketSink } from './packet.ts';
import type { Interface } from './pcapng-interface.ts';

const INTERFACE_DESCRIPTION = 1;
const OBSOLETE_PACKET = 2;
const SIMPLE_PACKET = 3;
const ENHANCED_PACKET = 6;

/** Far more than any recorder has; a hostile file must not fill the memory with them. */
const MAX_INTERFACES = 4096;

export function isPacketBlock(type: number): boolean {
  return type === ENHANCED_PACKET || type === SIMPLE_PACKET || type === OBSOLETE_PACKET;
}

export class PcapngPackets {
  frames = 0;
  #sink: PacketSink;
  #clock: FileClock;
  #interfaces: Interface[] = [];
  #packet: Packet;

  constructor(sink: PacketSink, clock: FileClock) {
    this.#sink = sink;
    this.#clock = clock;
    const bytes = new Uint8Array(0);
    this.#packet = { frame: 0, at_ns: 0, linkType: 0, bytes, start: 0, end: 0, missing: 0 };
  }

  /** Interface numbers begin again in every section. */
  newSection(): void {
    this.#interfaces = [];
  }

  /** Counts a packet whose block is damaged, and gives its number. */
  lostPacket(): number {
    return ++this.frames;
  }

  /** Takes the body of a block, `bytes[start..end)`, which stands at `offset` in the file. */
  block(
    type: number,
    bytes: Uint8Array,
    start: number,
    end: number,
    big: boolean,
    offset: number,
  ): void {
    if (type === ENHANCED_PACKET) this.#timedPacket(bytes, start, end, big, offset, false);
    else if (type === INTERFACE_DESCRIPTION) this.#interface(bytes, start, end, big, offset);
    else if (type === SIMPLE_PACKET) this.#simplePacket(bytes, start, end, big, offset);
    else if (type === OBSOLETE_PACKET) this.#timedPacket(bytes, start, end, big, offset, true);
  }

  #interface(bytes: Uint8Array, start: number, end: number, big: boolean, offset: number): void {
    const found = readInterface(bytes, start, end, big, this.#clock);
    if (found !== null && this.#interfaces.length < MAX_INTERFACES) {
      this.#interfaces.push(found);
      return;
    }
    const says =
      found === null
        ? 'an interface description is too short: packets of its interface are skipped'
        : `more than ${MAX_INTERFACES} interfaces: the packets of the rest are skipped`;
    this.#sink.problem({ problem: 'damaged', says, byte: offset });
  }

  /** Enhanced packets, and the obsolete ones that differ in a 16-bit interface number (section 4.3, A). */
  #timedPacket(
    bytes: Uint8Array,
    start: number,
    end: number,
    big: boolean,
    offset: number,
    obsolete: boolean,
  ): void {
    this.frames += 1;
    const data = start + 20;
    if (data > end) {
      this.#damaged('its block is too short', offset);
      return;
    }
    const u32 = big ? u32be : u32le;
    const number = obsolete ? (big ? u16be : u16le)(bytes, start) : u32(bytes, start);
    const from = this.#interfaces[number];
    const kept = u32(bytes, start + 12);
    if (from === undefined) {
      this.#damaged(`it names interface ${number}, which is not described`, offset);
      return;
    }
    if (kept > end - data) {
      this.#damaged(`it claims ${kept} bytes, its block holds ${end - data}`, offset);
      return;
    }
    const at_ns = from.clock.at(u32(bytes, start + 4), u32(bytes, start + 8), this.frames);
    this.#hand(bytes, data, kept, u32(bytes, start + 16), from.linkType, at_ns);
  }

  /** A simple packet belongs to interface 0 and has no time (section 4.4): it takes that of the one before. */
  #simplePacket(bytes: Uint8Array, start: number, end: number, big: boolean, offset: number): void {
    this.frames += 1;
    const from = this.#interfaces[0];
    if (from === undefined || end - start < 4) {
      const why = from === undefined ? 'no interface is described' : 'its block is too short';
      this.#damaged(why, offset);
      return;
    }
    this.#sink.problem({
      problem: 'clock',
      says: 'this packet was recorded without a time: it is given that of the packet before',
      frame: this.frames,
    });
    const original = (big ? u32be : u32le)(bytes, start);
    const limit = from.snapshotLength === 0 ? original : Math.min(original, from.snapshotLength);
    const kept = Math.min(limit, end - start - 4);
    this.#hand(bytes, start + 4, kept, original, from.linkType, this.#packet.at_ns);
  }

  #hand(
    bytes: Uint8Array,
    data: number,
    kept: number,
    original: number,
    linkType: number,
    at_ns: number,
  ): void {
    const packet = this.#packet;
    packet.frame = this.frames;
    packet.at_ns = at_ns;
    packet.linkType = linkType;
    packet.bytes = bytes;
    packet.start = data;
    packet.end = data + kept;
    packet.missing = Math.max(0, original - kept);
    this.#sink.packet(packet);
  }

  #damaged(why: string, offset: number): void {
    this.#sink.problem({
      problem: 'damaged',
      says: `packet ${this.frames} cannot be read: ${why}`,
      frame: this.frames,
      byte: offset,
    });
  }
}
