// Bytes from anywhere, split anywhere, as blocks of whole lines in bounded memory.
import { Buffer, isAscii } from 'node:buffer';

const NEWLINE = 0x0a;
/** Lines are decoded in pieces of at most this size, however large the chunks come. */
const PIECE_BYTES = 256 * 1024;

export interface LineBlock {
  /** Number of its first line, 1-based. */
  first: number;
  /** Without their newline; a carriage return before it stays. */
  lines: string[];
  /** It stands for one line beyond the cap, whose text was let go. */
  overlong: boolean;
  /** Its last line ended with the input, not with a newline. */
  unended: boolean;
}

/**
 * Splits UTF-8 bytes into lines. Bytes that are no UTF-8 become U+FFFD; a byte order mark at the start is skipped.
 * A line of more than `cap_bytes` (at least PIECE_BYTES) is dropped and told by an `overlong` block in its place.
 */
export async function* lineBlocks(
  source: AsyncIterable<Uint8Array>,
  cap_bytes: number,
): AsyncGenerator<LineBlock, void, void> {
  const splitter = new LineSplitter(cap_bytes);
  for await (const chunk of source) {
    for (let start = 0; start < chunk.length; start += PIECE_BYTES) {
      const piece = chunk.subarray(start, start + PIECE_BYTES);
      yield* splitter.push(Buffer.from(piece.buffer, piece.byteOffset, piece.length));
    }
  }
  yield* splitter.end();
}

class LineSplitter {
  private readonly cap_bytes: number;
  private next = 1;
  /** The line begun by earlier pieces. */
  private begun = Buffer.alloc(PIECE_BYTES);
  private begunBytes = 0;
  /** Inside a line beyond the cap, up to its newline. */
  private dropping = false;

  constructor(cap_bytes: number) {
    this.cap_bytes = cap_bytes;
  }

  push(piece: Buffer): LineBlock[] {
    const newline = piece.indexOf(NEWLINE);
    if (newline < 0) {
      this.keep(piece);
      return [];
    }
    const blocks: LineBlock[] = [];
    let rest = piece;
    if (this.dropping || this.begunBytes > 0) {
      this.keep(piece.subarray(0, newline));
      blocks.push(this.finish(false));
      rest = piece.subarray(newline + 1);
    }
    const last = rest.lastIndexOf(NEWLINE);
    if (last >= 0) blocks.push(this.block(rest.subarray(0, last), false));
    this.keep(rest.subarray(last + 1));
    return blocks;
  }

  end(): LineBlock[] {
    return this.dropping || this.begunBytes > 0 ? [this.finish(true)] : [];
  }

  private keep(part: Buffer): void {
    if (this.dropping) return;
    const length = this.begunBytes + part.length;
    if (length > this.cap_bytes) {
      this.dropping = true;
      return;
    }
    if (length > this.begun.length) {
      const larger = Buffer.alloc(
        Math.min(this.cap_bytes, Math.max(length, 2 * this.begun.length)),
      );
      this.begun.copy(larger, 0, 0, this.begunBytes);
      this.begun = larger;
    }
    part.copy(this.begun, this.begunBytes);
    this.begunBytes = length;
  }

  private finish(unended: boolean): LineBlock {
    const overlong = this.dropping;
    const bytes = overlong ? Buffer.alloc(0) : this.begun.subarray(0, this.begunBytes);
    this.begunBytes = 0;
    this.dropping = false;
    return { ...this.block(bytes, unended), overlong };
  }

  private block(bytes: Buffer, unended: boolean): LineBlock {
    const first = this.next;
    const lines = textOf(bytes, first === 1).split('\n');
    this.next += lines.length;
    return { first, lines, overlong: false, unended };
  }
}

function textOf(bytes: Buffer, atStart: boolean): string {
  // Traces are ASCII but for a name here and there, and one byte a character parses faster.
  if (isAscii(bytes)) return bytes.toString('latin1');
  const text = bytes.toString('utf8');
  return atStart && text.startsWith('\uFEFF') ? text.slice(1) : text;
}
