// Bits in and out, most significant first (W3C EXI 1.0, bit-packed alignment).
import { InputError } from '../../trace/input-error.ts';
import { STREAM_BYTES_MAX } from './limits.ts';

/** Bytes beyond the end that a read may touch; they are zero. */
const PADDING_BYTES = 4;

const CUT_SHORT = 'capture the whole message, or check the length in its V2GTP header';

/** Reads bits from a copy of the input, so that every read is four plain loads. */
export class BitReader {
  private bytes = new Uint8Array(1024 + PADDING_BYTES);
  private endBit = 0;
  /** Bits read so far. */
  position = 0;

  load(input: Uint8Array): void {
    const { length } = input;
    if (length > STREAM_BYTES_MAX) {
      const what = `an EXI stream of ${length} bytes`;
      throw new InputError(what, { byte: 0 }, `at most ${STREAM_BYTES_MAX} bytes are read`);
    }
    if (length + PADDING_BYTES > this.bytes.length) {
      this.bytes = new Uint8Array(2 * length + PADDING_BYTES);
    }
    this.bytes.set(input);
    for (let at = length; at < length + PADDING_BYTES; at += 1) {
      this.bytes[at] = 0;
    }
    this.endBit = length * 8;
    this.position = 0;
  }

  /** The next `width` bits, 0 to 24, as a number. */
  read(width: number): number {
    const position = this.position;
    const after = position + width;
    if (after > this.endBit) {
      throw this.cutShort();
    }
    this.position = after;
    const bytes = this.bytes;
    const at = position >>> 3;
    const word =
      (bytes[at]! << 24) | (bytes[at + 1]! << 16) | (bytes[at + 2]! << 8) | bytes[at + 3]!;
    // Two shifts, as a shift by 32 would be none.
    return ((word << (position & 7)) >>> 1) >>> (31 - width);
  }

  /** The next 25 bits or more, at the top of a 32-bit word; zeros beyond the end. */
  peek(): number {
    const bytes = this.bytes;
    const at = this.position >>> 3;
    const word =
      (bytes[at]! << 24) | (bytes[at + 1]! << 16) | (bytes[at + 2]! << 8) | bytes[at + 3]!;
    return word << (this.position & 7);
  }

  /** Passes over bits that were peeked at. */
  skip(width: number): void {
    const after = this.position + width;
    if (after > this.endBit) {
      throw this.cutShort();
    }
    this.position = after;
  }

  /** Refuses a length that the rest of the input cannot hold, before anything is made of it. */
  need(octets: number): void {
    if (this.position + octets * 8 > this.endBit) {
      throw this.cutShort();
    }
  }

  /**
   * Refuses whole bytes after the message that are not zero; the bits that fill its last byte are
   * free.
   */
  finish(): void {
    const first = (this.position + 7) >>> 3;
    for (let at = first; at < this.endBit >>> 3; at += 1) {
      if (this.bytes[at] !== 0) {
        throw new InputError(
          'bytes after the end of the message',
          { byte: at },
          'check the length in its V2GTP header, or that this is the right schema',
        );
      }
    }
  }

  fail(what: string, mend: string, position = this.position): InputError {
    return new InputError(what, { byte: position >>> 3 }, mend);
  }

  private cutShort(): InputError {
    return new InputError('the message ends too early', { byte: this.endBit >>> 3 }, CUT_SHORT);
  }
}

/** Writes bits into a buffer that grows. */
export class BitWriter {
  private bytes = new Uint8Array(1024);
  private length = 0;
  /** Bits not yet in `bytes`: fewer than eight. */
  private pending = 0;
  private pendingBits = 0;

  reset(): void {
    this.length = 0;
    this.pending = 0;
    this.pendingBits = 0;
  }

  /** Writes the low `width` bits, 0 to 24, of `value`, which has no others. */
  write(value: number, width: number): void {
    const word = (this.pending << width) | value;
    let bits = this.pendingBits + width;
    if (this.length + 4 > this.bytes.length) {
      this.grow();
    }
    while (bits >= 8) {
      bits -= 8;
      this.bytes[this.length] = word >>> bits;
      this.length += 1;
    }
    this.pending = word & ((1 << bits) - 1);
    this.pendingBits = bits;
  }

  /** All bytes, the last filled up with zero bits. */
  finish(): Uint8Array {
    if (this.pendingBits > 0) {
      this.write(0, 8 - this.pendingBits);
    }
    return this.bytes.slice(0, this.length);
  }

  private grow(): void {
    if (this.bytes.length >= STREAM_BYTES_MAX) {
      const mend = `at most ${STREAM_BYTES_MAX} bytes are written: shorten the message`;
      throw new InputError('a message too long for one EXI stream', {}, mend);
    }
    const larger = new Uint8Array(2 * this.bytes.length);
    larger.set(this.bytes);
    this.bytes = larger;
  }
}
