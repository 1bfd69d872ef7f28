// The block-structured capture file (draft-ietf-opsawg-pcapng): sections, interfaces, packets.
// Damage costs the damaged block alone where the next one can be found.
import { u16be, u16le, u32be, u32le } from '../bytes.ts';
import { ByteQueue } from './byte-queue.ts';
import { FileClock } from './clock.ts';
import { MAX_PACKET_BYTES } from './packet.ts';
import { PcapngPackets, isPacketBlock } from './pcapng-packets.ts';
import {
  BYTE_ORDER_MAGIC,
  MIN_BLOCK_BYTES,
  PROBE_BYTES,
  SECTION_HEADER,
  findBlock,
} from './pcapng-search.ts';
import type { CaptureReader, PacketSink } from './packet.ts';

/** A Section Header Block is the shortest thing whose length can be trusted only after its magic. */
const SECTION_HEADER_BYTES = 28;

/** Whether these first bytes are those of a pcapng file. */
export function isPcapng(bytes: Uint8Array): boolean {
  return bytes.length >= 4 && u32be(bytes, 0) === SECTION_HEADER;
}

export class PcapngReader implements CaptureReader {
  readonly format = 'pcapng';
  #sink: PacketSink;
  #queue = new ByteQueue();
  #clock: FileClock;
  #packets: PcapngPackets;
  #big = false;
  /** blocks: in a readable section · skip: in one of an unknown version · lost: looking for a block. */
  #state: 'blocks' | 'skip' | 'lost' = 'skip';
  #afterLoss: 'blocks' | 'skip' = 'skip';
  /** Offset of the damage that is being skipped. */
  #lostAt = 0;

  constructor(sink: PacketSink) {
    this.#sink = sink;
    this.#clock = new FileClock((problem) => sink.problem(problem));
    this.#packets = new PcapngPackets(sink, this.#clock);
    this.#queue.need(SECTION_HEADER_BYTES);
  }

  get epoch_ns(): bigint | null {
    return this.#clock.epoch_ns;
  }

  get frames(): number {
    return this.#packets.frames;
  }

  push(chunk: Uint8Array): void {
    if (this.#queue.push(chunk)) this.#readBlocks(false);
  }

  end(): void {
    const queue = this.#queue;
    queue.join();
    this.#readBlocks(true);
    // A block longer than the file may be a damaged length with whole blocks behind it.
    while (this.#state !== 'lost' && this.#wholeBlockBehind()) {
      this.#lose('a block claims more bytes than the file holds');
      this.#readBlocks(true);
    }
    if (this.#state === 'lost') {
      this.#sink.problem({
        problem: 'damaged',
        says: `no block could be found after the damage at byte ${this.#lostAt}: the rest of the file is missing`,
        byte: this.#lostAt,
      });
    } else if (queue.length > 0) {
      this.#sink.problem({
        problem: 'cut',
        says: `the file ends inside a block, of which ${queue.length} bytes are there`,
        byte: queue.offset,
      });
    }
  }

  #wholeBlockBehind(): boolean {
    const { bytes, start, end } = this.#queue;
    return end - start > MIN_BLOCK_BYTES && findBlock(bytes, start + 1, end, this.#big, true).whole;
  }

  #readBlocks(last: boolean): void {
    const queue = this.#queue;
    for (;;) {
      if (this.#state === 'lost' && !this.#findAgain(last)) return;
      if (queue.length < MIN_BLOCK_BYTES) {
        queue.need(MIN_BLOCK_BYTES);
        return;
      }
      const length = this.#blockLength();
      if (length === null) continue;
      if (queue.length < length) {
        queue.need(length);
        return;
      }
      this.#readBlock(length);
    }
  }

  /** Total length of the block at the head; null when it is damaged or not all of its head is there. */
  #blockLength(): number | null {
    const { bytes, start } = this.#queue;
    if (u32be(bytes, start) === SECTION_HEADER) {
      const asBig = u32be(bytes, start + 8) === BYTE_ORDER_MAGIC;
      if (!asBig && u32le(bytes, start + 8) !== BYTE_ORDER_MAGIC) {
        return this.#lose('the section header has no byte-order magic');
      }
      this.#big = asBig;
    }
    const length = (this.#big ? u32be : u32le)(bytes, start + 4);
    const most = MAX_PACKET_BYTES + PROBE_BYTES;
    if (length < MIN_BLOCK_BYTES || length % 4 !== 0 || length > most) {
      return this.#lose(`a block claims to be ${length} bytes long`);
    }
    return length;
  }

  #readBlock(length: number): void {
    const queue = this.#queue;
    const { bytes, start } = queue;
    const u32 = this.#big ? u32be : u32le;
    const type = u32(bytes, start);
    const repeated = u32(bytes, start + length - 4);
    if (repeated !== length) {
      this.#lose(`a block says ${length} bytes at its head and ${repeated} at its end`);
      return;
    }
    if (type === SECTION_HEADER) this.#readSectionHeader(length);
    else if (this.#state === 'blocks') {
      this.#packets.block(type, bytes, start + 8, start + length - 4, this.#big, queue.offset);
    }
    queue.skip(length);
  }

  #readSectionHeader(length: number): void {
    const { bytes, start, offset } = this.#queue;
    const major =
      length < SECTION_HEADER_BYTES ? -1 : (this.#big ? u16be : u16le)(bytes, start + 12);
    this.#packets.newSection();
    this.#state = major === 1 ? 'blocks' : 'skip';
    if (major === 1) return;
    this.#sink.problem({
      problem: major < 0 ? 'damaged' : 'unsupported',
      says:
        major < 0
          ? 'the section header is too short: its section is skipped'
          : `the section is of pcapng version ${major}, only version 1 is read: it is skipped`,
      byte: offset,
    });
  }

  /** Starts looking for the next block, beyond the first byte of this one. Always null, for callers to return. */
  #lose(why: string): null {
    const { bytes, start, offset } = this.#queue;
    const type = (this.#big ? u32be : u32le)(bytes, start);
    const frame =
      this.#state === 'blocks' && isPacketBlock(type) ? this.#packets.lostPacket() : undefined;
    this.#sink.problem({
      problem: 'damaged',
      says: `${why}: it is skipped, reading goes on with the next whole block`,
      byte: offset,
      ...(frame === undefined ? {} : { frame }),
    });
    this.#lostAt = offset;
    this.#afterLoss = this.#state === 'lost' ? this.#afterLoss : this.#state;
    this.#state = 'lost';
    this.#queue.skip(1);
    return null;
  }

  /** True when the queue stands at a whole block again. */
  #findAgain(last: boolean): boolean {
    const queue = this.#queue;
    const found = findBlock(queue.bytes, queue.start, queue.end, this.#big, last);
    queue.skip(found.at - queue.start);
    if (!found.whole) {
      queue.need(last ? 1 : found.needed);
      return false;
    }
    this.#state = this.#afterLoss;
    return true;
  }
}
