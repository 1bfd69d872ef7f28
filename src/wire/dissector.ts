// One packet through the layers: link, network, and on to SLAC, discovery or a connection.
import { InputError } from '../trace/input-error.ts';
import {
  ETHERTYPE_HOMEPLUG,
  ETHERTYPE_IPV4,
  ETHERTYPE_IPV6,
  isLinkTypeRead,
  linkTypeName,
  newFrame,
  readFrame,
} from './link/link-layer.ts';
import { macText, u16be } from './bytes.ts';
import { PROTOCOL_TCP, PROTOCOL_UDP, newDatagram } from './network/datagram.ts';
import { Fragments } from './network/fragments.ts';
import { readIpv4, readIpv6 } from './network/ip.ts';
import { SDP_PORT, decodeSdp } from './network/sdp.ts';
import { SlacReader } from './slac/reader.ts';
import { Connections } from './transport/connections.ts';
import { V2GTP_HEADER_BYTES } from './v2gtp/header.ts';
import type { MessageObservation } from '../trace/observation.ts';
import type { Packet, PacketSink, Problem } from './capture/packet.ts';
import type { NetworkResult } from './network/datagram.ts';
import type { SdpMessage } from './network/sdp.ts';
import type { Outbox } from './outbox.ts';

const UDP_HEADER_BYTES = 8;

export interface LinkTypeCount {
  linkType: number;
  name: string;
  frames: number;
  read: boolean;
}

export class Dissector implements PacketSink {
  #outbox: Outbox;
  #frame = newFrame();
  #datagram = newDatagram();
  #fragments: Fragments;
  #slac: SlacReader;
  #connections: Connections;
  #linkTypes = new Map<number, LinkTypeCount>();
  /** Count of the link type met last, which is nearly always that of the next packet. */
  #linkType: LinkTypeCount = { linkType: -1, name: '', frames: 0, read: false };
  /** Packets that the recorder cut. */
  cutFrames = 0;

  constructor(outbox: Outbox) {
    this.#outbox = outbox;
    this.#slac = new SlacReader(outbox);
    this.#connections = new Connections(outbox);
    this.#fragments = new Fragments((says) => {
      outbox.problem({ problem: 'damaged', says, frame: outbox.frame });
    });
  }

  get links(): number {
    return this.#connections.links;
  }

  get linkTypes(): LinkTypeCount[] {
    return [...this.#linkTypes.values()];
  }

  problem(problem: Problem): void {
    this.#outbox.problem(problem);
  }

  packet(packet: Packet): void {
    this.#outbox.frame = packet.frame;
    this.#outbox.now_ns = packet.at_ns;
    if (packet.missing > 0) this.#cut(packet);
    if (packet.linkType !== this.#linkType.linkType) this.#changeLinkType(packet);
    this.#linkType.frames += 1;
    if (this.#linkType.read) this.#read(packet);
    this.#connections.settle(packet.at_ns);
  }

  /** The capture is over. */
  end(): void {
    this.#fragments.end();
    this.#connections.end(this.#outbox.frame, this.#outbox.now_ns);
  }

  #cut(packet: Packet): void {
    this.cutFrames += 1;
    const says = `the recorder kept ${packet.end - packet.start} bytes of this packet and cut ${packet.missing} (truncated)`;
    this.#outbox.problem({ problem: 'cut', says, frame: packet.frame });
  }

  #changeLinkType({ linkType, frame }: Packet): void {
    let count = this.#linkTypes.get(linkType);
    if (count === undefined) {
      const name = linkTypeName(linkType);
      count = { linkType, name, frames: 0, read: isLinkTypeRead(linkType) };
      this.#linkTypes.set(linkType, count);
      if (!count.read) {
        const says = `link type ${linkType} is not supported: ${name}`;
        this.#outbox.problem({ problem: 'unsupported', says, frame });
      }
    }
    this.#linkType = count;
  }

  #read(packet: Packet): void {
    const frame = this.#frame;
    if (!readFrame(packet, frame)) {
      this.#fault(packet, 'its link-layer header is cut');
      return;
    }
    const { bytes, end } = packet;
    if (frame.etherType === ETHERTYPE_IPV6) {
      this.#network(packet, readIpv6(bytes, frame.payload, end, this.#datagram));
    } else if (frame.etherType === ETHERTYPE_HOMEPLUG) {
      this.#slac.read(packet, frame);
    } else if (frame.etherType === ETHERTYPE_IPV4) {
      this.#network(packet, readIpv4(bytes, frame.payload, end, this.#datagram));
    }
  }

  #network(packet: Packet, result: NetworkResult): void {
    const datagram = this.#datagram;
    if (result !== 'whole') {
      if ('problem' in result) {
        this.#fault(packet, result.problem);
        return;
      }
      if (!this.#fragments.take(datagram, result)) return;
    }
    if (datagram.protocol === PROTOCOL_TCP) {
      this.#connections.take(datagram, packet, this.#frame);
    } else if (datagram.protocol === PROTOCOL_UDP) {
      this.#udp(packet);
    }
  }

  #udp(packet: Packet): void {
    const { bytes, start, end } = this.#datagram;
    if (start + UDP_HEADER_BYTES > end) {
      this.#fault(packet, 'its UDP header is cut');
      return;
    }
    if (u16be(bytes, start) !== SDP_PORT && u16be(bytes, start + 2) !== SDP_PORT) return;
    const data = start + UDP_HEADER_BYTES;
    // The UDP length may leave out padding behind the data.
    const length = u16be(bytes, start + 4) - UDP_HEADER_BYTES;
    const dataEnd = Math.min(end, data + Math.max(0, length));
    try {
      this.#discovery(packet, decodeSdp(bytes, data, dataEnd), data);
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
      this.#fault(packet, `${error.what}, at byte ${error.place.byte ?? 0} of its UDP data`);
    }
  }

  #discovery(packet: Packet, { name, from, message }: SdpMessage, data: number): void {
    if (from === 'charger') {
      this.#connections.announce(this.#datagram.bytes, data + V2GTP_HEADER_BYTES);
    }
    const { sender, receiver } = this.#frame;
    const observation: MessageObservation = {
      kind: 'message',
      at_ns: packet.at_ns,
      frame: packet.frame,
      from,
      name,
      message,
      protocol: 'sdp',
    };
    if (sender >= 0) observation.sender = macText(packet.bytes, sender);
    if (receiver >= 0) observation.receiver = macText(packet.bytes, receiver);
    this.#outbox.put(observation);
  }

  #fault(packet: Packet, why: string): void {
    const problem = packet.missing > 0 ? 'cut' : 'damaged';
    const says = `this packet cannot be read: ${why}`;
    this.#outbox.problem({ problem, says, frame: packet.frame });
  }
}
