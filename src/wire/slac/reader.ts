// SLAC frames to message observations: who sent each, told by its type or by the addresses seen before.
import { macNumber, macText } from '../bytes.ts';
import { InputError } from '../../trace/input-error.ts';
import { decodeSlac } from './decode.ts';
import type { MessageObservation, Side } from '../../trace/observation.ts';
import type { Packet } from '../capture/packet.ts';
import type { Frame } from '../link/link-layer.ts';
import type { Outbox } from '../outbox.ts';
import type { SlacMessage } from './decode.ts';

/** A hostile capture must not fill the memory with addresses. */
const MAX_KNOWN_ADDRESSES = 4096;

export class SlacReader {
  /** Which side an address was seen to be, by a message that only one side sends. */
  #sides = new Map<number, Side>();
  #outbox: Outbox;

  constructor(outbox: Outbox) {
    this.#outbox = outbox;
  }

  read(packet: Packet, frame: Frame): void {
    const decoded = this.#decode(packet, frame);
    if (decoded === null) return;
    const { layout, message } = decoded;
    const { bytes } = packet;
    const from = layout.from ?? this.#sideOf(bytes, frame);
    if (from === undefined) {
      this.#outbox.problem({
        problem: 'unsupported',
        says: `${layout.name} names neither side, and its addresses were not seen before`,
        frame: packet.frame,
      });
      return;
    }
    if (layout.from !== null && frame.sender >= 0) this.#learn(bytes, frame.sender, layout.from);
    const observation: MessageObservation = {
      kind: 'message',
      at_ns: packet.at_ns,
      frame: packet.frame,
      from,
      name: layout.name,
      message,
      protocol: 'slac',
    };
    if (frame.sender >= 0) observation.sender = macText(bytes, frame.sender);
    if (frame.receiver >= 0) observation.receiver = macText(bytes, frame.receiver);
    this.#outbox.put(observation);
  }

  #decode(packet: Packet, frame: Frame): SlacMessage | null {
    try {
      return decodeSlac(packet.bytes, frame.payload, packet.end);
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
      const cut = packet.missing > 0;
      this.#outbox.problem({
        problem: cut ? 'cut' : 'damaged',
        says: `${error.what}, at byte ${frame.payload - packet.start + (error.place.byte ?? 0)} of the packet`,
        frame: packet.frame,
      });
      return null;
    }
  }

  /** Messages either side sends: told by its own address, or as the other side of the one it speaks to. */
  #sideOf(bytes: Uint8Array, { sender, receiver }: Frame): Side | undefined {
    const own = sender < 0 ? undefined : this.#sides.get(macNumber(bytes, sender));
    if (own !== undefined) return own;
    const other = receiver < 0 ? undefined : this.#sides.get(macNumber(bytes, receiver));
    if (other === undefined) return undefined;
    return other === 'vehicle' ? 'charger' : 'vehicle';
  }

  #learn(bytes: Uint8Array, at: number, side: Side): void {
    if (this.#sides.size < MAX_KNOWN_ADDRESSES) this.#sides.set(macNumber(bytes, at), side);
  }
}
