// One direction of a TCP connection put in order (RFC 9293 section 3.4): repeated, reordered, overlapping
// and split segments become one stream. Of bytes that come twice the first copy counts. A hole stays open
// until it cannot be filled any more, and only then is it told as a gap.

/** A retransmission takes at least this long (RFC 6298 asks 1 s, stacks use 200 ms: `common practice`). */
const RETRANSMISSION_NS = 200_000_000;
/** Nothing older than V2G_SECC_Sequence_Timeout (60 s) is still of use. */
const OLDEST_HOLE_NS = 60_000_000_000;
const MAX_PENDING_BYTES = 256 * 1024;
const MAX_PENDING_SEGMENTS = 512;
/** An acknowledgement further ahead than any window is no evidence of anything. */
const MAX_ACKNOWLEDGED_AHEAD = 16 * 1024 * 1024;

export interface StreamSink {
  /** The next bytes, `bytes[start..end)`, valid during the call; the frame is that which made them ready. */
  data(bytes: Uint8Array, start: number, end: number, frame: number, at_ns: number): void;
  /** Bytes that are missing before the next ones. */
  gap(missing: number, frame: number, at_ns: number): void;
  /** The sender closed its direction, and everything before that was told. */
  finished(frame: number, at_ns: number): void;
}

/** A segment beyond a hole. */
interface Pending {
  sequence: number;
  bytes: Uint8Array;
  fin: boolean;
  frame: number;
  at_ns: number;
}

const NOTHING = new Uint8Array(0);

/** How far `to` is beyond `from`, negative when before it; sequence numbers wrap at 2^32. */
function distance(from: number, to: number): number {
  return (to - from) | 0;
}

export class ByteStream {
  #sink: StreamSink;
  /** Sequence number of the next byte wanted; null before the first. */
  #next: number | null = null;
  /** Sorted by sequence number; all lie beyond `#next`. */
  #pending: Pending[] = [];
  #pendingBytes = 0;
  /** Latest of the frames whose bytes were handed on. */
  #frame = 0;
  #at_ns = 0;
  #acknowledged: number | null = null;
  /** When the peer was first seen to have the bytes of the hole. */
  #acknowledgedAt_ns: number | null = null;
  #finished = false;

  constructor(sink: StreamSink) {
    this.#sink = sink;
  }

  get known(): boolean {
    return this.#next !== null;
  }

  /** True once the sender closed and all before that was handed on. */
  get isFinished(): boolean {
    return this.#finished;
  }

  get hasHole(): boolean {
    return this.#pending.length > 0;
  }

  /** Frame of the earliest segment that waits for a hole; Infinity when none does. */
  get heldFrame(): number {
    let frame = Infinity;
    for (const pending of this.#pending) frame = Math.min(frame, pending.frame);
    return frame;
  }

  /** Says where the stream begins: behind a SYN, or at the first segment of a joined connection. */
  begin(sequence: number): void {
    this.#next = sequence >>> 0;
  }

  /** Takes a segment of at least one byte. */
  segment(
    sequence: number,
    bytes: Uint8Array,
    start: number,
    end: number,
    frame: number,
    at_ns: number,
  ): void {
    if (this.#finished) return;
    this.#next ??= sequence;
    const ahead = distance(this.#next, sequence);
    if (ahead > 0) {
      this.#keep({ sequence, bytes: bytes.slice(start, end), fin: false, frame, at_ns });
      return;
    }
    if (-ahead >= end - start) return;
    this.#hand(bytes, start - ahead, end, frame, at_ns);
    if (this.#pending.length > 0) this.#drain();
  }

  /** Takes the sender's FIN, which stands behind its last byte. */
  fin(sequence: number, frame: number, at_ns: number): void {
    if (this.#finished) return;
    this.#next ??= sequence;
    if (distance(this.#next, sequence) > 0) {
      this.#keep({ sequence, bytes: NOTHING, fin: true, frame, at_ns });
      return;
    }
    this.finish(frame, at_ns);
  }

  /** The sender closed, and whatever is still missing before that does not matter or is there. */
  finish(frame: number, at_ns: number): void {
    this.#finished = true;
    this.#pending = [];
    const later = frame >= this.#frame;
    this.#sink.finished(later ? frame : this.#frame, later ? at_ns : this.#at_ns);
  }

  /** Takes an acknowledgement by the receiver. */
  acknowledge(number: number, at_ns: number): void {
    if (this.#acknowledged !== null && distance(this.#acknowledged, number) <= 0) return;
    this.#acknowledged = number;
    if (this.#pending.length > 0) this.#weigh(at_ns);
  }

  /** Gives up the first hole when it can no longer be filled; true when it did. */
  giveUpAt(now_ns: number): boolean {
    const [first] = this.#pending;
    if (first === undefined) return false;
    const acknowledged = this.#acknowledgedAt_ns;
    const lost =
      (acknowledged !== null && now_ns - acknowledged >= RETRANSMISSION_NS) ||
      now_ns - first.at_ns >= OLDEST_HOLE_NS ||
      this.#pendingBytes > MAX_PENDING_BYTES ||
      this.#pending.length > MAX_PENDING_SEGMENTS;
    if (lost) this.giveUp();
    return lost;
  }

  /** Tells the first hole as a gap and hands on what stands behind it. */
  giveUp(): void {
    const [first] = this.#pending;
    if (first === undefined) return;
    this.#sink.gap(distance(this.#next!, first.sequence), first.frame, first.at_ns);
    this.#next = first.sequence;
    this.#acknowledgedAt_ns = null;
    this.#drain();
    if (this.#pending.length > 0) this.#weigh(first.at_ns);
  }

  /** The connection is over: every hole is a gap, and so is what the peer had but the capture has not. */
  end(frame: number, at_ns: number): void {
    while (this.#pending.length > 0) this.giveUp();
    if (this.#finished || this.#next === null || this.#acknowledged === null) return;
    // One number beyond the last byte is a FIN that was not recorded.
    const missing = distance(this.#next, this.#acknowledged);
    if (missing > 1 && missing < MAX_ACKNOWLEDGED_AHEAD) this.#sink.gap(missing, frame, at_ns);
    this.#finished = true;
  }

  #hand(bytes: Uint8Array, start: number, end: number, frame: number, at_ns: number): void {
    this.#next = (this.#next! + (end - start)) >>> 0;
    if (frame >= this.#frame) {
      this.#frame = frame;
      this.#at_ns = at_ns;
    }
    this.#sink.data(bytes, start, end, this.#frame, this.#at_ns);
  }

  /** Puts a segment in its place; of two that begin alike the longer one may add bytes, so both stay. */
  #keep(segment: Pending): void {
    let at = this.#pending.length;
    while (at > 0 && distance(this.#pending[at - 1]!.sequence, segment.sequence) < 0) at -= 1;
    const before = this.#pending[at - 1];
    if (before?.sequence === segment.sequence && before.bytes.length >= segment.bytes.length) {
      if (before.fin || !segment.fin) return;
    }
    this.#pending.splice(at, 0, segment);
    this.#pendingBytes += segment.bytes.length;
    this.#weigh(segment.at_ns);
  }

  #weigh(at_ns: number): void {
    if (this.#acknowledgedAt_ns !== null || this.#acknowledged === null) return;
    const ahead = distance(this.#next!, this.#acknowledged);
    if (ahead > 0 && ahead < MAX_ACKNOWLEDGED_AHEAD) this.#acknowledgedAt_ns = at_ns;
  }

  /** Hands on the pending segments that now follow. */
  #drain(): void {
    let used = 0;
    for (const pending of this.#pending) {
      const ahead = distance(this.#next!, pending.sequence);
      if (ahead > 0) break;
      used += 1;
      this.#pendingBytes -= pending.bytes.length;
      if (pending.fin) {
        this.finish(pending.frame, pending.at_ns);
        return;
      }
      if (-ahead < pending.bytes.length) {
        this.#hand(pending.bytes, -ahead, pending.bytes.length, pending.frame, pending.at_ns);
      }
    }
    this.#pending.splice(0, used);
    if (this.#pending.length === 0) this.#acknowledgedAt_ns = null;
  }
}
