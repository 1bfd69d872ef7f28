// TCP reassembly. Facts: RFC 9293 section 3.4 (sequence numbers wrap at 2^32) and 3.10 (what a receiver keeps).
import * as fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { ByteStream } from '../../src/wire/transport/byte-stream.ts';

const MILLISECOND_NS = 1_000_000;

type Event = ['data', string, number] | ['gap', number, number] | ['finished', number];

function recorded(): { stream: ByteStream; events: Event[]; bytes: () => number[] } {
  const events: Event[] = [];
  const bytes: number[] = [];
  const stream = new ByteStream({
    data: (from, start, end, frame) => {
      const part = from.slice(start, end);
      bytes.push(...part);
      events.push(['data', Buffer.from(part).toString('hex'), frame]);
    },
    gap: (missing, frame) => events.push(['gap', missing, frame]),
    finished: (frame) => events.push(['finished', frame]),
  });
  return { stream, events, bytes: () => bytes };
}

/** Sends `data` at an offset from the stream's first byte, 0xfffffff0 so that every test crosses the wrap. */
const ORIGIN = 0xfffffff0;
function send(stream: ByteStream, at: number, data: number[], frame: number): void {
  const bytes = Uint8Array.from(data);
  stream.segment((ORIGIN + at) >>> 0, bytes, 0, bytes.length, frame, frame * MILLISECOND_NS);
}

describe('a byte stream', () => {
  it('is the same however its segments are cut, repeated, reordered and overlapped', () => {
    const cut = fc.record({
      at: fc.nat(400),
      length: fc.integer({ min: 1, max: 60 }),
      rank: fc.nat(),
    });
    fc.assert(
      fc.property(
        fc.uint8Array({ minLength: 1, maxLength: 400 }),
        fc.array(cut, { maxLength: 60 }),
        fc.nat(0xffffffff),
        (whole, cuts, origin) => {
          // Random pieces, and a row of pieces that covers everything.
          const pieces = cuts.map(({ at, length, rank }) => ({
            at: at % whole.length,
            length,
            rank,
          }));
          for (let at = 0; at < whole.length; at += 25) {
            pieces.push({ at, length: 25, rank: (at * 7919) % 400 });
          }
          pieces.sort((left, right) => left.rank - right.rank);
          const { stream, events, bytes } = recorded();
          stream.begin(origin);
          pieces.forEach(({ at, length }, index) => {
            const part = whole.slice(at, at + length);
            stream.segment((origin + at) >>> 0, part, 0, part.length, index, index);
          });
          stream.fin((origin + whole.length) >>> 0, pieces.length, pieces.length);
          expect(bytes()).toEqual([...whole]);
          expect(events.at(-1)).toEqual(['finished', pieces.length]);
          expect(stream.hasHole).toBe(false);
        },
      ),
    );
  });

  it('tells every byte once and the exact length of what is missing', () => {
    const pieces = fc.array(
      fc.record({ length: fc.integer({ min: 1, max: 20 }), lost: fc.boolean() }),
    );
    fc.assert(
      fc.property(pieces, (sent) => {
        const { stream, events } = recorded();
        stream.begin(ORIGIN);
        let at = 0;
        sent.forEach(({ length, lost }, index) => {
          if (!lost)
            send(
              stream,
              at,
              Array.from({ length }, () => index),
              index + 1,
            );
          at += length;
        });
        stream.acknowledge((ORIGIN + at) >>> 0, 0);
        stream.end(sent.length, 0);
        const told = events.reduce(
          (sum, event) =>
            sum + (event[0] === 'gap' ? event[1] : event[0] === 'data' ? event[1].length / 2 : 0),
          0,
        );
        // A single missing byte at the end may be a FIN that was not recorded.
        const last = sent.at(-1);
        const silent =
          last?.lost === true && last.length === 1 && sent.at(-2)?.lost !== true ? 1 : 0;
        expect(told).toBe(at - silent);
      }),
    );
  });

  it('gives each part the frame with which everything before it was there', () => {
    const { stream, events } = recorded();
    stream.begin(ORIGIN);
    send(stream, 4, [5, 6], 1);
    send(stream, 2, [3, 4], 2);
    send(stream, 0, [1, 2], 3);
    send(stream, 6, [7], 4);
    expect(events).toEqual([
      ['data', '0102', 3],
      ['data', '0304', 3],
      ['data', '0506', 3],
      ['data', '07', 4],
    ]);
  });

  it('keeps the first copy of a byte that comes twice', () => {
    const { stream, events } = recorded();
    stream.begin(ORIGIN);
    send(stream, 0, [1, 1, 1], 1);
    send(stream, 1, [9, 9, 2], 2);
    send(stream, 3, [9], 3);
    expect(events.map(([, bytes]) => bytes)).toEqual(['010101', '02']);
  });

  it('passes over keep-alive probes, which repeat the byte before the next', () => {
    const { stream, events } = recorded();
    stream.begin(ORIGIN);
    send(stream, 0, [1, 2], 1);
    send(stream, 1, [0], 2);
    send(stream, 2, [3], 3);
    expect(events.map(([, bytes]) => bytes)).toEqual(['0102', '03']);
  });

  it('waits for a retransmission even when the peer has acknowledged, but not for ever', () => {
    const { stream, events } = recorded();
    stream.begin(ORIGIN);
    send(stream, 2, [3], 10);
    stream.acknowledge((ORIGIN + 3) >>> 0, 10 * MILLISECOND_NS);
    expect(stream.giveUpAt(100 * MILLISECOND_NS)).toBe(false);
    expect(stream.heldFrame).toBe(10);
    expect(stream.giveUpAt(210 * MILLISECOND_NS)).toBe(true);
    expect(events).toEqual([
      ['gap', 2, 10],
      ['data', '03', 10],
    ]);
    // What comes too late for its place is not told.
    send(stream, 0, [1, 2], 11);
    expect(events).toHaveLength(2);
  });

  it('waits for the length of a sequence timeout without an acknowledgement', () => {
    const { stream } = recorded();
    stream.begin(ORIGIN);
    send(stream, 2, [3], 0);
    expect(stream.giveUpAt(59_999 * MILLISECOND_NS)).toBe(false);
    expect(stream.giveUpAt(60_000 * MILLISECOND_NS)).toBe(true);
  });

  it('takes no acknowledgement from beyond any window as evidence', () => {
    const { stream } = recorded();
    stream.begin(ORIGIN);
    stream.acknowledge((ORIGIN + 0x40000000) >>> 0, 0);
    send(stream, 2, [3], 0);
    expect(stream.giveUpAt(1000 * MILLISECOND_NS)).toBe(false);
  });

  it('bounds what waits behind a hole, in bytes and in segments', () => {
    const large = recorded();
    large.stream.begin(ORIGIN);
    let given = 0;
    for (let index = 0; index < 6; index++) {
      send(
        large.stream,
        10 + index * 60_000,
        Array.from({ length: 60_000 }, () => 0),
        index,
      );
      if (large.stream.giveUpAt(0)) given += 1;
    }
    expect(given).toBe(1);
    const many = recorded();
    many.stream.begin(ORIGIN);
    for (let index = 0; index < 600; index++) {
      send(many.stream, 10 + 2 * index, [index & 0xff], index);
      many.stream.giveUpAt(0);
    }
    expect(many.events.length).toBeGreaterThan(0);
  });

  it('finishes only when the bytes before the FIN are there or given up', () => {
    const { stream, events } = recorded();
    stream.begin(ORIGIN);
    stream.fin((ORIGIN + 3) >>> 0, 1, 0);
    expect(stream.isFinished).toBe(false);
    send(stream, 1, [2, 3], 2);
    stream.end(3, 0);
    expect(events).toEqual([
      ['gap', 1, 2],
      ['data', '0203', 2],
      ['finished', 2],
    ]);
    send(stream, 3, [4], 4);
    stream.fin((ORIGIN + 3) >>> 0, 5, 0);
    expect(events).toHaveLength(3);
  });
});
