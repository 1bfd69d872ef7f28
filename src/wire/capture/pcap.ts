// The classic capture file: a 24-byte header, then records (draft-ietf-opsawg-pcap, sections 4 and 5).
// It has no marks to find a record again after damage, so reading stops there.
import { u32be, u32le, u16be, u16le } from '../bytes.ts';
import { InputError } from '../../trace/input-error.ts';
import { ByteQueue } from './byte-queue.ts';
import { FileClock, InterfaceClock, MICROSECONDS, NANOSECONDS } from './clock.ts';
import { MAX_PACKET_BYTES } from './packet.ts';
import type { CaptureReader, Packet, PacketSink } from './packet.ts';

const MAGIC_MICROSECONDS = 0xa1b2c3d4;
const MAGIC_NANOSECONDS = 0xa1b23c4d;
const FILE_HEADER_BYTES = 24;
const RECORD_HEADER_BYTES = 16;

/** Whether these first bytes are those of a pcap file. */
export function isPcap(bytes: Uint8Array): boolean {
  return bytes.length >= 4 && magicOf(bytes, 0) !== null;
}

function magicOf(bytes: Uint8Array, at: number): { big: boolean; nano: boolean } | null {
  const asBig = u32be(bytes, at);
  const asLittle = u32le(bytes, at);
  if (asBig === MAGIC_MICROSECONDS || asBig === MAGIC_NANOSECONDS) {
    return { big: true, nano: asBig === MAGIC_NANOSECONDS };
  }
  if (asLittle === MAGIC_MICROSECONDS || asLittle === MAGIC_NANOSECONDS) {
    return { big: false, nano: asLittle === MAGIC_NANOSECONDS };
  }
  return null;
}

export class PcapReader implements CaptureReader {
  readonly format = 'pcap';
  frames = 0;
  #sink: PacketSink;
  #queue = new ByteQueue();
  #clock: FileClock;
  #interface!: InterfaceClock;
  #big = false;
  #nano = false;
  #headerRead = false;
  #stopped = false;
  #packet: Packet;

  constructor(sink: PacketSink) {
    this.#sink = sink;
    this.#clock = new FileClock((problem) => sink.problem(problem));
    const bytes = new Uint8Array(0);
    this.#packet = { frame: 0, at_ns: 0, linkType: 0, bytes, start: 0, end: 0, missing: 0 };
    this.#queue.need(FILE_HEADER_BYTES);
  }

  get epoch_ns(): bigint | null {
    return this.#clock.epoch_ns;
  }

  /** Throws InputError when the file header is of a version or kind that cannot be read. */
  push(chunk: Uint8Array): void {
    if (this.#stopped) {
      this.#queue.offset += chunk.length;
      return;
    }
    if (!this.#queue.push(chunk)) return;
    if (!this.#headerRead) this.#readFileHeader();
    this.#readRecords();
  }

  end(): void {
    if (this.#stopped) {
      this.#sink.problem({
        problem: 'damaged',
        says: `what follows the damaged record could not be read, up to the end of the file at byte ${this.#queue.offset}`,
      });
      return;
    }
    this.#queue.join();
    const queue = this.#queue;
    if (!this.#headerRead) {
      const place = { byte: queue.length };
      throw new InputError('the file ends inside its header', place, 'record it again');
    }
    if (queue.length === 0) return;
    this.#sink.problem({
      problem: 'cut',
      says: `the file ends inside packet ${this.frames + 1}, of which ${queue.length} bytes with its header are there`,
      frame: this.frames + 1,
      byte: queue.offset,
    });
  }

  #readFileHeader(): void {
    const { bytes, start } = this.#queue;
    const magic = magicOf(bytes, start)!;
    this.#big = magic.big;
    this.#nano = magic.nano;
    const major = (magic.big ? u16be : u16le)(bytes, start + 4);
    if (major !== 2) {
      const what = `pcap version ${major} is not known`;
      throw new InputError(what, { byte: 4 }, 'convert the file to pcap 2.4 or pcapng');
    }
    // The upper 16 bits tell of a frame check sequence, not of the link.
    this.#packet.linkType = (magic.big ? u32be : u32le)(bytes, start + 20) & 0xffff;
    this.#interface = new InterfaceClock(this.#clock, magic.nano ? NANOSECONDS : MICROSECONDS);
    this.#queue.skip(FILE_HEADER_BYTES);
    this.#headerRead = true;
  }

  #readRecords(): void {
    const queue = this.#queue;
    const u32 = this.#big ? u32be : u32le;
    const unitsPerSecond = this.#nano ? 1_000_000_000 : 1_000_000;
    const packet = this.#packet;
    while (queue.length >= RECORD_HEADER_BYTES) {
      const { bytes, start } = queue;
      const kept = u32(bytes, start + 8);
      const original = u32(bytes, start + 12);
      if (kept > MAX_PACKET_BYTES) {
        this.#stop(kept);
        return;
      }
      const length = RECORD_HEADER_BYTES + kept;
      if (queue.length < length) {
        queue.need(length);
        return;
      }
      packet.frame = ++this.frames;
      packet.at_ns = this.#time(u32(bytes, start), u32(bytes, start + 4), unitsPerSecond);
      packet.bytes = bytes;
      packet.start = start + RECORD_HEADER_BYTES;
      packet.end = start + length;
      packet.missing = Math.max(0, original - kept);
      queue.skip(length);
      this.#sink.packet(packet);
    }
    queue.need(RECORD_HEADER_BYTES);
  }

  /** Seconds and their fraction as one count, handed on in 32-bit halves. */
  #time(seconds: number, fraction: number, unitsPerSecond: number): number {
    if (unitsPerSecond === 1_000_000) {
      const units = seconds * 1_000_000 + fraction;
      const high = Math.floor(units / 0x1_0000_0000);
      return this.#interface.at(high, units - high * 0x1_0000_0000, this.frames);
    }
    // A count of nanoseconds since 1970 is no safe integer: multiply in 16-bit steps.
    const lowProduct = (seconds & 0xffff) * unitsPerSecond + fraction;
    const highProduct = (seconds >>> 16) * unitsPerSecond + Math.floor(lowProduct / 0x1_0000);
    const high = Math.floor(highProduct / 0x1_0000);
    const low = (highProduct - high * 0x1_0000) * 0x1_0000 + (lowProduct % 0x1_0000);
    return this.#interface.at(high, low, this.frames);
  }

  #stop(kept: number): void {
    this.#stopped = true;
    this.frames += 1;
    const { offset } = this.#queue;
    this.#sink.problem({
      problem: 'damaged',
      says: `packet ${this.frames} claims ${kept} bytes, more than any link carries: reading stops here, a pcap file has no marks to go on from`,
      frame: this.frames,
      byte: offset,
    });
    this.#queue.skip(this.#queue.length);
  }
}
