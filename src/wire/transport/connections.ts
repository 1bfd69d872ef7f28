// All TCP connections of a capture, found by their addresses and ports.
import { addressText, endText, hexText, macNumber, macText, sameBytes, u16be } from '../bytes.ts';
import { Connection } from './connection.ts';
import { RST, SYN, newSegment, readSegment } from './tcp-header.ts';
import type { Packet } from '../capture/packet.ts';
import type { Frame } from '../link/link-layer.ts';
import type { Datagram } from '../network/datagram.ts';
import type { Outbox } from '../outbox.ts';
import type { Direction, End } from '../v2gtp/link.ts';
import type { Segment } from './tcp-header.ts';

const MAX_CONNECTIONS = 8192;
const MAX_ANNOUNCED = 4096;
/** When so much waits behind holes they are given up, whatever might still fill them. */
const MAX_HELD = 20_000;

/** fe80::/10, the addresses charging uses (DIN SPEC 70121, ISO 15118-2: link-local, `from memory`). */
const LINK_LOCAL = 0xfe80;
const LINK_LOCAL_MASK = 0xffc0;

interface Entry {
  /** Addresses of both ends: that of direction 0's sender first. */
  addresses: Uint8Array;
  /** Port of direction 0's sender. */
  port: number;
  ends: [End, End];
  /** Link-layer address each end was last seen with, as a number; -1 before. */
  macs: [number, number];
  connection: Connection;
}

export class Connections {
  #outbox: Outbox;
  #byPorts = new Map<number, Entry[]>();
  #count = 0;
  #links = 0;
  #announced = new Set<string>();
  #holed = new Set<Connection>();
  #segment = newSegment();
  #last: Entry | null = null;

  constructor(outbox: Outbox) {
    this.#outbox = outbox;
  }

  /** Connections told in the trace. */
  get links(): number {
    return this.#links;
  }

  /** A discovery response told where the charger listens: 16 bytes of address and a port. */
  announce(bytes: Uint8Array, at: number): void {
    if (this.#announced.size < MAX_ANNOUNCED) this.#announced.add(hexText(bytes, at, at + 18));
  }

  take(datagram: Datagram, packet: Packet, frame: Frame): void {
    const segment = this.#segment;
    const { bytes, start, end, missing } = datagram;
    if (!readSegment(bytes, start, end, missing, segment)) {
      const says = 'its TCP header is cut or does not fit';
      const problem = datagram.missing > 0 ? 'cut' : 'damaged';
      this.#outbox.problem({ problem, says, frame: packet.frame });
      return;
    }
    const found = this.#find(datagram, segment, packet);
    if (found === null) return;
    const { entry, direction } = found;
    this.#refreshMac(entry, direction, packet, frame);
    const { connection } = entry;
    connection.take(segment, direction, packet.frame, packet.at_ns);
    if (connection.hasHole) this.#holed.add(connection);
  }

  /** To be called after every packet. */
  settle(now_ns: number): void {
    if (this.#holed.size === 0) return;
    const tooMany = this.#outbox.heldCount > MAX_HELD;
    let held = Infinity;
    for (const connection of this.#holed) {
      if (tooMany) connection.giveUpAllHoles();
      else connection.giveUpHoles(now_ns);
      if (connection.hasHole) held = Math.min(held, connection.heldFrame);
      else this.#holed.delete(connection);
    }
    this.#outbox.holdFrom(held);
  }

  /** The capture is over. */
  end(frame: number, at_ns: number): void {
    for (const entries of this.#byPorts.values()) {
      for (const { connection } of entries) connection.end(frame, at_ns);
    }
    this.#outbox.holdFrom(Infinity);
  }

  #found: { entry: Entry; direction: Direction } = { entry: null!, direction: 0 };

  #find(
    datagram: Datagram,
    segment: Segment,
    packet: Packet,
  ): { entry: Entry; direction: Direction } | null {
    const found = this.#found;
    if (this.#last !== null && matches(this.#last, datagram, segment, found)) {
      found.entry = this.#last;
    } else {
      const { sourcePort, destinationPort } = segment;
      const key =
        Math.min(sourcePort, destinationPort) * 0x1_0000 + Math.max(sourcePort, destinationPort);
      const entries = this.#byPorts.get(key);
      const entry = entries?.find((each) => matches(each, datagram, segment, found));
      if (entry === undefined) return this.#first(key, datagram, segment);
      found.entry = entry;
      this.#last = entry;
    }
    const { entry, direction } = found;
    if (entry.connection.isReopenedBy(segment, direction, packet.at_ns)) {
      this.#replace(entry, datagram, segment, packet);
      found.direction = 0;
    }
    return found;
  }

  /** A connection not seen before; packets that neither open one nor carry data are no reason for it. */
  #first(
    key: number,
    datagram: Datagram,
    segment: Segment,
  ): { entry: Entry; direction: Direction } | null {
    const telling = (segment.flags & SYN) !== 0 || segment.end > segment.start;
    if (!telling || (segment.flags & RST) !== 0) return null;
    if (this.#count >= MAX_CONNECTIONS) this.#evict();
    const entry = this.#entry(datagram, segment);
    const entries = this.#byPorts.get(key);
    if (entries === undefined) this.#byPorts.set(key, [entry]);
    else entries.push(entry);
    this.#count += 1;
    this.#last = entry;
    this.#found.entry = entry;
    this.#found.direction = 0;
    return this.#found;
  }

  #replace(entry: Entry, datagram: Datagram, segment: Segment, packet: Packet): void {
    entry.connection.end(packet.frame, packet.at_ns);
    this.#holed.delete(entry.connection);
    Object.assign(entry, this.#entry(datagram, segment));
  }

  #entry(datagram: Datagram, segment: Segment): Entry {
    const { bytes, source, destination, addressLength } = datagram;
    const addresses = new Uint8Array(2 * addressLength);
    addresses.set(bytes.subarray(source, source + addressLength));
    addresses.set(bytes.subarray(destination, destination + addressLength), addressLength);
    const end = (at: number, port: number): End => ({
      text: endText(addressText(addresses, at, addressLength), port),
      mac: undefined,
    });
    const ends: [End, End] = [
      end(0, segment.sourcePort),
      end(addressLength, segment.destinationPort),
    ];
    const announced = [
      this.#isAnnounced(addresses, 0, addressLength, segment.sourcePort),
      this.#isAnnounced(addresses, addressLength, addressLength, segment.destinationPort),
    ];
    const connection = new Connection({
      outbox: this.#outbox,
      nextLink: () => `tcp:${++this.#links}`,
      ends,
      charging: announced[0] || announced[1] || isLinkLocal(addresses, addressLength),
      vehicle: announced[1] ? 0 : announced[0] ? 1 : null,
    });
    return { addresses, port: segment.sourcePort, ends, macs: [-1, -1], connection };
  }

  #isAnnounced(addresses: Uint8Array, at: number, length: number, port: number): boolean {
    if (length !== 16 || this.#announced.size === 0) return false;
    const portText = port.toString(16).padStart(4, '0').toUpperCase();
    return this.#announced.has(hexText(addresses, at, at + 16) + portText);
  }

  /** Makes room: the connection that was opened first goes. */
  #evict(): void {
    const [key, entries] = this.#byPorts.entries().next().value!;
    const oldest = entries.shift()!;
    const { connection } = oldest;
    if (this.#last === oldest) this.#last = null;
    if (entries.length === 0) this.#byPorts.delete(key);
    if (!connection.isOver) {
      connection.end(this.#outbox.frame, this.#outbox.now_ns);
      const says = `more than ${MAX_CONNECTIONS} connections: the oldest is given up`;
      this.#outbox.problem({ problem: 'unsupported', says, frame: this.#outbox.frame });
    }
    this.#holed.delete(connection);
    this.#count -= 1;
  }

  /** Keeps the link-layer address of the sender as text, made anew only when it changes. */
  #refreshMac(entry: Entry, direction: Direction, packet: Packet, frame: Frame): void {
    const { sender, receiver } = frame;
    if (sender < 0) return;
    const { bytes } = packet;
    const mac = macNumber(bytes, sender);
    if (entry.macs[direction] === mac) return;
    entry.macs[direction] = mac;
    entry.ends[direction].mac = macText(bytes, sender);
    const peer = entry.ends[1 - direction]!;
    if (receiver >= 0) peer.mac ??= macText(bytes, receiver);
  }
}

/** Whether a packet belongs to an entry; tells its direction in `found`. */
function matches(
  entry: Entry,
  datagram: Datagram,
  segment: Segment,
  found: { direction: Direction },
): boolean {
  const { addresses, port } = entry;
  const { bytes, source, destination, addressLength: length } = datagram;
  if (addresses.length !== 2 * length) return false;
  if (
    segment.sourcePort === port &&
    sameBytes(addresses, 0, bytes, source, length) &&
    sameBytes(addresses, length, bytes, destination, length)
  ) {
    found.direction = 0;
    return true;
  }
  if (
    segment.destinationPort === port &&
    sameBytes(addresses, 0, bytes, destination, length) &&
    sameBytes(addresses, length, bytes, source, length)
  ) {
    found.direction = 1;
    return true;
  }
  return false;
}

function isLinkLocal(addresses: Uint8Array, addressLength: number): boolean {
  return (
    addressLength === 16 &&
    (u16be(addresses, 0) & LINK_LOCAL_MASK) === LINK_LOCAL &&
    (u16be(addresses, 16) & LINK_LOCAL_MASK) === LINK_LOCAL
  );
}
