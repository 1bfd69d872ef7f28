// The life of one TCP connection: opened or joined, its two streams, its end. A connection that is not known
// to be a charging one stays silent until a V2GTP header shows up in it.
import { isPlainStart } from '../v2gtp/header.ts';
import { Link } from '../v2gtp/link.ts';
import { ByteStream } from './byte-stream.ts';
import { ACK, FIN, RST, SYN } from './tcp-header.ts';
import { isTlsRecord } from './tls.ts';
import type { Outbox } from '../outbox.ts';
import type { Direction, End } from '../v2gtp/link.ts';
import type { Segment } from './tcp-header.ts';

/** Segments with data that an unknown connection is looked at for a V2GTP header. */
const MAX_LOOKS = 64;
/** A SYN that comes again within this time is the same one (RFC 6298: repeated after 1 s, then 2 s). */
const SAME_SYN_NS = 3_500_000_000;

export interface ConnectionSetting {
  outbox: Outbox;
  /** Gives the next link its name. */
  nextLink: () => string;
  /** By direction: the end that sends in it. Direction 0 is that of the first packet seen. */
  ends: readonly [End, End];
  /** Discovery announced it, or it joins link-local addresses: told from its first packet on. */
  charging: boolean;
  /** Direction the vehicle sends in when discovery tells it. */
  vehicle: Direction | null;
}

export class Connection {
  #setting: ConnectionSetting;
  #streams: [ByteStream, ByteStream];
  #link: Link | null = null;
  #vehicle: Direction | null;
  /** Initial sequence number and time of the SYN, when it was recorded. */
  #opening: { sequence: number; direction: Direction; at_ns: number } | null = null;
  /** looking: is it a charging connection? · reading · deaf: encrypted or foreign · over. */
  #state: 'looking' | 'reading' | 'deaf' | 'over' = 'looking';
  #looks = 0;
  #sawData = false;
  /** Direction of the first FIN recorded; that of the other side may be read before it. */
  #closer: Direction | null = null;
  #closedDirections = 0;

  constructor(setting: ConnectionSetting) {
    this.#setting = setting;
    this.#vehicle = setting.vehicle;
    this.#streams = [this.#stream(0), this.#stream(1)];
    if (setting.charging) this.#state = 'reading';
  }

  get isOver(): boolean {
    return this.#state === 'over';
  }

  /** Whether something read waits for a missing segment. */
  get hasHole(): boolean {
    return this.#state === 'reading' && (this.#streams[0].hasHole || this.#streams[1].hasHole);
  }

  get heldFrame(): number {
    return Math.min(this.#streams[0].heldFrame, this.#streams[1].heldFrame);
  }

  /** Whether this SYN opens another connection between the same ends. */
  isReopenedBy(segment: Segment, direction: Direction, at_ns: number): boolean {
    if ((segment.flags & SYN) === 0) return false;
    if (this.#state === 'over') return true;
    if ((segment.flags & ACK) !== 0) return false;
    const opening = this.#opening;
    if (opening === null) return this.#sawData;
    if (opening.sequence !== segment.sequence || opening.direction !== direction) return true;
    return this.#sawData && at_ns - opening.at_ns > SAME_SYN_NS;
  }

  take(segment: Segment, direction: Direction, frame: number, at_ns: number): void {
    const { flags } = segment;
    if (this.#state === 'over') return;
    if ((flags & RST) !== 0) {
      this.#reset(direction, frame, at_ns);
      return;
    }
    if ((flags & SYN) !== 0) this.#synchronise(segment, direction, frame, at_ns);
    if (this.#state !== 'deaf') this.#read(segment, direction, frame, at_ns);
    if ((flags & FIN) !== 0) this.#fin(segment, direction, frame, at_ns);
  }

  /** Gives up holes that can no longer be filled. */
  giveUpHoles(now_ns: number): void {
    for (const stream of this.#streams) while (stream.giveUpAt(now_ns));
  }

  /** Gives up every hole, whether or not it might still be filled. */
  giveUpAllHoles(): void {
    for (const stream of this.#streams) while (stream.hasHole) stream.giveUp();
  }

  /** The capture is over, or another connection takes the place of this one. */
  end(frame: number, at_ns: number): void {
    if (this.#state === 'over') return;
    for (const direction of [0, 1] as const) {
      this.#streams[direction].end(frame, at_ns);
      this.#link?.finish(direction, frame, at_ns);
    }
    this.#state = 'over';
  }

  #stream(direction: Direction): ByteStream {
    return new ByteStream({
      data: (bytes, start, end, frame, at_ns) => {
        if (this.#state !== 'reading') return;
        if (!this.#sawData && isTlsRecord(bytes, start, end)) {
          this.#encrypted(frame, at_ns);
          return;
        }
        this.#sawData = true;
        this.#linkNow().data(direction, bytes, start, end, frame, at_ns);
      },
      gap: (missing, frame, at_ns) => {
        if (this.#state === 'reading') this.#linkNow().gap(direction, missing, frame, at_ns);
      },
      finished: (frame, at_ns) => this.#closed(direction, frame, at_ns),
    });
  }

  #synchronise(segment: Segment, direction: Direction, frame: number, at_ns: number): void {
    if (!this.#streams[direction].known) this.#streams[direction].begin(segment.sequence + 1);
    if (this.#opening !== null) return;
    const answer = (segment.flags & ACK) !== 0;
    // An answer to a SYN that was not recorded opens the connection all the same.
    const opener = answer ? ((1 - direction) as Direction) : direction;
    const sequence = answer ? (segment.acknowledgement - 1) >>> 0 : segment.sequence;
    this.#opening = { sequence, direction: opener, at_ns };
    const stream = this.#streams[opener];
    if (answer && !stream.known) stream.begin(segment.acknowledgement);
    this.#vehicle ??= opener;
    // A SYN recorded behind the first data opens nothing: the connection was told as joined.
    if (this.#state !== 'reading' || this.#link !== null) return;
    this.#linkNow().opened(frame, at_ns, 'connection opened (SYN)');
  }

  #read(segment: Segment, direction: Direction, frame: number, at_ns: number): void {
    const { bytes, start, end } = segment;
    if ((segment.flags & ACK) !== 0) {
      this.#streams[1 - direction]!.acknowledge(segment.acknowledgement, at_ns);
    }
    if (start === end) return;
    if (this.#state === 'looking' && !this.#look(segment, frame, at_ns)) return;
    this.#streams[direction].segment(firstByte(segment), bytes, start, end, frame, at_ns);
  }

  #fin(segment: Segment, direction: Direction, frame: number, at_ns: number): void {
    this.#closer ??= direction;
    const data = segment.end - segment.start + segment.missing;
    const behind = (firstByte(segment) + data) >>> 0;
    // Of a connection that is not read there is no order to keep either.
    if (this.#state === 'reading') this.#streams[direction].fin(behind, frame, at_ns);
    else if (!this.#streams[direction].isFinished) this.#streams[direction].finish(frame, at_ns);
  }

  /** Whether this segment shows a charging connection; streams then begin with it. */
  #look(segment: Segment, frame: number, at_ns: number): boolean {
    if (!isPlainStart(segment.bytes, segment.start, segment.end)) {
      this.#looks += 1;
      if (this.#looks >= MAX_LOOKS) this.#state = 'deaf';
      return false;
    }
    this.#state = 'reading';
    if (this.#looks > 0) {
      // Bytes went by unread: what comes now begins anew.
      this.#opening = null;
      this.#streams = [this.#stream(0), this.#stream(1)];
    } else if (this.#opening !== null) {
      this.#linkNow().opened(frame, at_ns, 'connection opened (SYN seen before)');
    }
    return true;
  }

  #encrypted(frame: number, at_ns: number): void {
    this.#linkNow().encrypted(frame, at_ns);
    this.#state = 'deaf';
  }

  #linkNow(): Link {
    const { nextLink, outbox, ends } = this.#setting;
    this.#link ??= new Link(nextLink(), outbox, ends, this.#vehicle, this.#opening === null);
    return this.#link;
  }

  /** All of a direction is read up to its FIN. The first FIN is told; with both the connection is over. */
  #closed(direction: Direction, frame: number, at_ns: number): void {
    this.#link?.finish(direction, frame, at_ns);
    if (direction === this.#closer) this.#link?.ended(direction, 'closed', frame, at_ns);
    this.#closedDirections += 1;
    if (this.#closedDirections === 2) this.#state = 'over';
  }

  #reset(direction: Direction, frame: number, at_ns: number): void {
    const closed = this.#closer !== null;
    this.end(frame, at_ns);
    if (!closed) this.#link?.ended(direction, 'reset', frame, at_ns);
  }
}

/** Sequence number of a segment's first byte: a SYN takes one before it. */
function firstByte({ flags, sequence }: Segment): number {
  return (flags & SYN) === 0 ? sequence : (sequence + 1) >>> 0;
}
