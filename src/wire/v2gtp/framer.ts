// One direction of a connection cut into V2GTP messages. After bytes that are none, or a gap, it goes on with
// the next header.
import {
  V2GTP_HEADER_BYTES,
  findHeader,
  headerFault,
  payloadLength,
  payloadType,
} from './header.ts';

const FIRST_BUFFER_BYTES = 4096;

export interface Unreadable {
  says: string;
  bytes: number;
  /** Offset of the bad byte in the payload of the frame. */
  byte?: number;
}

export interface FramerSink {
  /** A whole payload, `bytes[start..end)`, valid during the call. */
  payload(type: number, bytes: Uint8Array, start: number, end: number): void;
  unreadable(fault: Unreadable): void;
}

export class Framer {
  #sink: FramerSink;
  /** The beginning of a message whose rest has not come. */
  #buffer = new Uint8Array(0);
  #have = 0;
  /** Bytes of the buffered message with its header; 0 before its header is whole. */
  #total = 0;
  /** Rest of a message that a gap broke, still to pass. */
  #skip = 0;
  /** Where the frame's payload begins in the bytes being cut; negative when before them. */
  #origin = 0;
  /** Why the next header is looked for; null while messages follow each other. */
  #search: Unreadable | null;

  /** `lost`: the stream is joined somewhere inside it. */
  constructor(sink: FramerSink, lost: boolean) {
    this.#sink = sink;
    this.#search = lost
      ? { says: 'the capture begins inside a message, which is skipped', bytes: 0 }
      : null;
  }

  /** Takes the next bytes of the stream. */
  data(bytes: Uint8Array, start: number, end: number): void {
    let at = start;
    this.#origin = start;
    if (this.#skip > 0) {
      const passed = Math.min(this.#skip, end - at);
      this.#skip -= passed;
      at += passed;
    }
    if (this.#have === 0) {
      this.#cut(bytes, at, end);
    } else if (this.#total > 0) {
      at = this.#fill(bytes, at, end);
      this.#cut(bytes, at, end);
    } else {
      const joined = new Uint8Array(this.#have + end - at);
      joined.set(this.#buffer.subarray(0, this.#have));
      joined.set(bytes.subarray(at, end), this.#have);
      this.#origin = this.#have - (at - start);
      this.#have = 0;
      this.#cut(joined, 0, joined.length);
    }
  }

  /** Bytes are missing here. Where the broken message ends before the next bytes is known if it is longer. */
  gap(missing: number): void {
    const left = this.#skip > 0 ? this.#skip : this.#total - this.#have;
    const broken = this.#have;
    const inside = (this.#skip > 0 || this.#total > 0) && missing <= left;
    this.#have = 0;
    this.#total = 0;
    this.#skip = inside ? left - missing : 0;
    if (broken > 0) {
      this.#sink.unreadable({
        says: 'the gap broke a message: its bytes are left out',
        bytes: broken,
      });
    }
    if (inside) return;
    this.#tellSearch();
    this.#search = { says: 'bytes after the gap up to the next message are left out', bytes: 0 };
  }

  /** No more bytes will come. */
  end(): void {
    this.#tellSearch();
    this.#search = null;
    if (this.#have > 0 && this.#total > 0) {
      const says = `the stream ends inside a message, of which ${this.#have} of ${this.#total} bytes are there`;
      this.#sink.unreadable({ says, bytes: this.#have });
    } else if (this.#have > 0) {
      this.#sink.unreadable({ says: 'the stream ends inside a message header', bytes: this.#have });
    }
    this.#have = 0;
    this.#total = 0;
  }

  /** Cuts whole messages off the front; keeps what is left. */
  #cut(bytes: Uint8Array, start: number, end: number): void {
    let at = start;
    while (at < end) {
      if (this.#search !== null) {
        const found = findHeader(bytes, at, end);
        this.#search.bytes += found - at;
        at = found;
        if (end - at >= V2GTP_HEADER_BYTES) this.#tellSearch(true);
        else break;
      }
      if (end - at < V2GTP_HEADER_BYTES) break;
      const fault = headerFault(bytes, at);
      if (fault !== null) {
        const byte = Math.max(0, at + fault.byte - this.#origin);
        this.#search = { says: fault.says, bytes: 1, byte };
        at += 1;
        continue;
      }
      const total = V2GTP_HEADER_BYTES + payloadLength(bytes, at);
      if (end - at < total) {
        this.#total = total;
        break;
      }
      this.#sink.payload(payloadType(bytes, at), bytes, at + V2GTP_HEADER_BYTES, at + total);
      at += total;
    }
    if (at < end) this.#append(bytes, at, end);
    // Told with the frame the bad bytes are in; what follows of them is told when it is over.
    if (this.#search?.byte !== undefined) {
      this.#tellSearch();
      this.#search = { says: 'more bytes up to the next message are left out', bytes: 0 };
    }
  }

  #tellSearch(found = false): void {
    if (this.#search !== null && this.#search.bytes > 0) this.#sink.unreadable(this.#search);
    if (found) this.#search = null;
  }

  /** Completes the buffered message; gives the offset behind what it took. */
  #fill(bytes: Uint8Array, start: number, end: number): number {
    const to = Math.min(end, start + this.#total - this.#have);
    this.#append(bytes, start, to);
    if (this.#have < this.#total) return to;
    const type = payloadType(this.#buffer, 0);
    const total = this.#total;
    this.#have = 0;
    this.#total = 0;
    this.#sink.payload(type, this.#buffer, V2GTP_HEADER_BYTES, total);
    return to;
  }

  #append(bytes: Uint8Array, start: number, end: number): void {
    const have = this.#have + end - start;
    if (have > this.#buffer.length) {
      const grown = new Uint8Array(Math.max(FIRST_BUFFER_BYTES, 2 * have));
      grown.set(this.#buffer.subarray(0, this.#have));
      this.#buffer = grown;
    }
    this.#buffer.set(bytes.subarray(start, end), this.#have);
    this.#have = have;
  }
}
