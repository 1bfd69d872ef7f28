// One connection as the trace tells it: its life, which side is which, its messages, what could not be read.
import { InputError } from '../../trace/input-error.ts';
import { Dialogue } from './dialogue.ts';
import { Framer } from './framer.ts';
import { PAYLOAD_EXI, payloadTypeName } from './header.ts';
import type { LinkObservation, MessageObservation, Side } from '../../trace/observation.ts';
import type { Outbox } from '../outbox.ts';
import type { Decoded } from './dialogue.ts';
import type { Unreadable } from './framer.ts';

/** One end of a connection; `mac` changes when frames begin to come from elsewhere. */
export interface End {
  /** `[address]:port`. */
  text: string;
  mac: string | undefined;
}

export type Direction = 0 | 1;

/** Frame and time of what is being told. */
interface When {
  frame: number;
  at_ns: number;
}

type LinkEvent = Pick<LinkObservation, 'state' | 'says'> &
  Partial<Pick<LinkObservation, 'from' | 'bytes' | 'byte'>>;

export class Link {
  readonly id: string;
  #outbox: Outbox;
  #ends: readonly [End, End];
  /** Direction whose sender is the vehicle; null while unknown. */
  #vehicle: Direction | null;
  #dialogue = new Dialogue();
  #framers: [Framer, Framer];
  #toldJoined = false;
  #when: When = { frame: 0, at_ns: 0 };
  #unknownTypes = new Set<number>();

  /** `ends[d]` sends in direction `d`; `joined` when the connection's SYN was not recorded. */
  constructor(
    id: string,
    outbox: Outbox,
    ends: readonly [End, End],
    vehicle: Direction | null,
    joined: boolean,
  ) {
    this.id = id;
    this.#outbox = outbox;
    this.#ends = ends;
    this.#vehicle = vehicle;
    this.#toldJoined = !joined;
    this.#framers = [this.#framer(0, joined), this.#framer(1, joined)];
  }

  opened(frame: number, at_ns: number, says: string): void {
    this.#when = { frame, at_ns };
    this.#put({ state: 'opened', says }, true);
  }

  data(
    direction: Direction,
    bytes: Uint8Array,
    start: number,
    end: number,
    frame: number,
    at_ns: number,
  ): void {
    this.#when.frame = frame;
    this.#when.at_ns = at_ns;
    this.#framers[direction].data(bytes, start, end);
  }

  gap(direction: Direction, missing: number, frame: number, at_ns: number): void {
    const says = `${missing} bytes of the connection are not in the capture`;
    this.#tell(direction, frame, at_ns, { state: 'gap', bytes: missing, says });
    this.#framers[direction].gap(missing);
  }

  encrypted(frame: number, at_ns: number): void {
    this.#tell(null, frame, at_ns, { state: 'encrypted', says: 'not observed: encrypted (TLS)' });
  }

  /** The sender of this direction closed or broke the connection. */
  ended(direction: Direction, state: 'closed' | 'reset', frame: number, at_ns: number): void {
    const how = state === 'closed' ? 'closed the connection (FIN)' : 'broke the connection (RST)';
    const says = `${this.#sideOf(direction) ?? 'one side'} ${how}`;
    this.#tell(direction, frame, at_ns, { state, says });
  }

  /** Nothing more will come in this direction: tells what is left over. */
  finish(direction: Direction, frame: number, at_ns: number): void {
    this.#when = { frame, at_ns };
    this.#framers[direction].end();
  }

  #framer(direction: Direction, joined: boolean): Framer {
    return new Framer(
      {
        payload: (type, bytes, start, end) => this.#payload(direction, type, bytes, start, end),
        unreadable: (fault) => this.#unreadable(direction, fault),
      },
      joined,
    );
  }

  #payload(
    direction: Direction,
    type: number,
    bytes: Uint8Array,
    start: number,
    end: number,
  ): void {
    if (type !== PAYLOAD_EXI) {
      this.#unknownType(type);
      return;
    }
    let decoded: Decoded | null;
    try {
      decoded = this.#dialogue.decode(bytes.subarray(start, end));
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
      const fault: Unreadable = {
        says: `a message cannot be read: ${error.what}`,
        bytes: end - start,
      };
      if (error.place.byte !== undefined) fault.byte = error.place.byte;
      this.#unreadable(direction, fault);
      return;
    }
    if (decoded !== null) this.#message(direction, decoded);
  }

  #message(direction: Direction, decoded: Decoded): void {
    const { protocol, name, message, header, note } = decoded;
    if (this.#vehicle === null) {
      this.#vehicle = name.endsWith('Req') ? direction : ((1 - direction) as Direction);
    }
    if (!this.#toldJoined) this.#tellJoined();
    const { frame, at_ns } = this.#when;
    const observation: MessageObservation = {
      kind: 'message',
      at_ns,
      frame,
      from: direction === this.#vehicle ? 'vehicle' : 'charger',
      name,
      message,
      protocol,
      link: this.id,
    };
    if (header !== undefined) observation.header = header;
    const sender = this.#ends[direction].mac;
    const receiver = this.#ends[1 - direction]!.mac;
    if (sender !== undefined) observation.sender = sender;
    if (receiver !== undefined) observation.receiver = receiver;
    this.#outbox.put(observation);
    if (note !== undefined) this.#note(note.says, note.unsupported);
  }

  #note(says: string, unsupported: boolean): void {
    const { frame, at_ns } = this.#when;
    const told = { kind: 'note', at_ns, frame, says: `${this.id}: ${says}` } as const;
    this.#outbox.put(unsupported ? { ...told, problem: 'unsupported' } : told);
  }

  /** Told once a type and connection. */
  #unknownType(type: number): void {
    if (this.#unknownTypes.has(type)) return;
    this.#unknownTypes.add(type);
    this.#note(`V2GTP payloads of type ${payloadTypeName(type)} are not read`, true);
  }

  #unreadable(direction: Direction, fault: Unreadable): void {
    const { frame, at_ns } = this.#when;
    this.#tell(direction, frame, at_ns, { state: 'unreadable', ...fault });
  }

  #tell(direction: Direction | null, frame: number, at_ns: number, event: LinkEvent): void {
    this.#when = { frame, at_ns };
    if (!this.#toldJoined) this.#tellJoined();
    const from = direction === null ? undefined : this.#sideOf(direction);
    this.#put(from === undefined ? event : { ...event, from }, false);
  }

  /** Told with the first thing that is told of the connection, when the sides may be known. */
  #tellJoined(): void {
    this.#toldJoined = true;
    this.#put({ state: 'joined', says: 'the capture starts inside this connection' }, true);
  }

  #sideOf(direction: Direction): Side | undefined {
    if (this.#vehicle === null) return undefined;
    return direction === this.#vehicle ? 'vehicle' : 'charger';
  }

  #put(event: LinkEvent, withEnds: boolean): void {
    const { frame, at_ns } = this.#when;
    const ends = withEnds ? this.#endFields() : {};
    this.#outbox.put({ kind: 'link', at_ns, frame, link: this.id, ...event, ...ends });
  }

  #endFields(): Partial<LinkObservation> {
    if (this.#vehicle === null) return {};
    const vehicle = this.#ends[this.#vehicle];
    const charger = this.#ends[1 - this.#vehicle]!;
    const fields: Partial<LinkObservation> = { vehicleEnd: vehicle.text, chargerEnd: charger.text };
    if (vehicle.mac !== undefined) fields.vehicleAddress = vehicle.mac;
    if (charger.mac !== undefined) fields.chargerAddress = charger.mac;
    return fields;
  }
}
