// Lines out of a byte stream, in bounded memory whatever comes.

/** A line of the input without its end; null when it was longer than allowed and was let go. */
export type Line = string | null;

const NEWLINE = 0x0a;

/** UTF-8 lines in batches, as they come. */
export async function* lines(
  source: AsyncIterable<Uint8Array>,
  longest: number,
): AsyncGenerator<Line[], void, void> {
  let kept = Buffer.alloc(0);
  let overlong = false;
  for await (const chunk of source) {
    const bytes = Buffer.from(chunk.buffer, chunk.byteOffset, chunk.byteLength);
    const last = bytes.lastIndexOf(NEWLINE);
    if (last < 0) {
      overlong ||= kept.length + bytes.length > longest;
      kept = overlong ? Buffer.alloc(0) : Buffer.concat([kept, bytes]);
      continue;
    }
    const whole = Buffer.concat([kept, bytes.subarray(0, last)])
      .toString('utf8')
      .split('\n');
    const batch: Line[] = whole.map((line) => (line.length > longest ? null : line));
    if (overlong) batch[0] = null;
    yield batch;
    kept = Buffer.from(bytes.subarray(last + 1));
    overlong = false;
  }
  if (overlong) yield [null];
  else if (kept.length > 0) yield [kept.toString('utf8')];
}
