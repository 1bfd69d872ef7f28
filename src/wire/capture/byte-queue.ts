// Bytes that came in chunks, seen as one stretch. A reader says how many bytes it waits for, so a large
// block that comes in small chunks is joined once, not once a chunk.

const NOTHING = new Uint8Array(0);

export class ByteQueue {
  /** The bytes at hand are `bytes[start..end)`. */
  bytes: Uint8Array = NOTHING;
  start = 0;
  end = 0;
  /** Offset in the file of `bytes[start]`. */
  offset = 0;

  #waiting: Uint8Array[] = [];
  #waitingBytes = 0;
  #needed = 1;

  /** Bytes that can be read now. */
  get length(): number {
    return this.end - this.start;
  }

  /** Says that nothing can be done before this many bytes are at hand. */
  need(count: number): void {
    this.#needed = count;
  }

  /** Takes a chunk; true when the bytes needed are at hand. */
  push(chunk: Uint8Array): boolean {
    this.#waiting.push(chunk);
    this.#waitingBytes += chunk.length;
    if (this.length + this.#waitingBytes < this.#needed) return false;
    this.join();
    return true;
  }

  /** Makes everything that was pushed readable. */
  join(): void {
    if (this.#waiting.length === 0) return;
    if (this.length === 0 && this.#waiting.length === 1) {
      this.bytes = this.#waiting[0]!;
      this.start = 0;
      this.end = this.bytes.length;
    } else {
      this.#concatenate();
    }
    this.#waiting = [];
    this.#waitingBytes = 0;
  }

  skip(count: number): void {
    this.start += count;
    this.offset += count;
  }

  #concatenate(): void {
    const joined = new Uint8Array(this.length + this.#waitingBytes);
    joined.set(this.bytes.subarray(this.start, this.end));
    let at = this.length;
    for (const chunk of this.#waiting) {
      joined.set(chunk, at);
      at += chunk.length;
    }
    this.bytes = joined;
    this.start = 0;
    this.end = at;
  }
}
