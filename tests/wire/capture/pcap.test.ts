// pcap files. Facts: draft-ietf-opsawg-pcap, sections 4 (file header) and 5 (records).
import * as fc from 'fast-check';
import { gzipSync } from 'node:zlib';
import { describe, expect, it } from 'vitest';
import { InputError } from '../../../src/trace/input-error.ts';
import { PcapReader } from '../../../src/wire/capture/pcap.ts';
import { isCapture, openCapture } from '../../../src/wire/open.ts';
import { START_NS, chunked, hex, join, number, pcap, readCapture, timed } from '../build.ts';
import { recordedBy } from './record.ts';

describe('reading pcap', () => {
  it.each([
    ['d4c3b2a1', 'little-endian, microseconds'],
    ['a1b2c3d4', 'big-endian, microseconds'],
    ['4d3cb2a1', 'little-endian, nanoseconds'],
    ['a1b23c4d', 'big-endian, nanoseconds'],
  ])('knows the magic %s (%s)', (magic) => {
    expect(isCapture(hex(magic))).toBe(true);
  });

  it('gives back what any writer of either byte order and resolution wrote, in chunks of any size', () => {
    const packet = fc.record({
      bytes: fc.uint8Array({ maxLength: 80 }),
      cut: fc.nat(2000),
      wait_us: fc.nat(1_000_000_000),
      rest_ns: fc.nat(999),
    });
    fc.assert(
      fc.property(
        fc.array(packet, { maxLength: 12 }),
        fc.boolean(),
        fc.boolean(),
        fc.integer({ min: 1, max: 300 }),
        (packets, big, nano, chunkSize) => {
          let time_ns = START_NS;
          const written = packets.map(({ bytes, cut, wait_us, rest_ns }) => {
            time_ns += BigInt(wait_us) * 1000n;
            const exact_ns = nano ? time_ns + BigInt(rest_ns) : time_ns;
            return { bytes, time_ns: exact_ns, original: bytes.length + cut };
          });
          const { packets: read, problems } = recordedBy(
            (sink) => new PcapReader(sink),
            pcap(written, { big, nano, linkType: 276 }),
            chunkSize,
          );
          expect(problems).toEqual([]);
          expect(read).toEqual(
            written.map(({ bytes, time_ns: at, original }, index) => ({
              frame: index + 1,
              at_ns: Number(at - written[0]!.time_ns),
              linkType: 276,
              bytes: Buffer.from(bytes).toString('hex'),
              missing: original - bytes.length,
            })),
          );
        },
      ),
    );
  });

  it('keeps nanoseconds exact where a double could not hold them since 1970', async () => {
    const packets = [1n, 2n, 999_999_999n].map((rest) => ({
      bytes: hex('00'),
      time_ns: START_NS + rest,
    }));
    const { header, summary } = await readCapture(pcap(packets, { nano: true }));
    expect(header.epoch).toBe('2026-01-01T00:00:00.000000001Z');
    expect(summary.frames).toBe(3);
    const { packets: read } = recordedBy(
      (sink) => new PcapReader(sink),
      pcap(packets, { nano: true }),
    );
    expect(read.map(({ at_ns }) => at_ns)).toEqual([0, 1, 999_999_998]);
  });

  it('leaves the upper half of the link type alone: it tells of a check sequence', async () => {
    const { summary } = await readCapture(pcap(timed([hex('00')]), { linkType: 0x2400_0001 }));
    expect(summary.linkTypes.map(({ linkType }) => linkType)).toEqual([1]);
  });

  it('reads a gzip-packed file as the file itself', async () => {
    const file = pcap(timed([hex('0102'), hex('03')]));
    const plain = await readCapture(file);
    const packed = await readCapture(Uint8Array.from(gzipSync(file)), 7);
    expect(packed.observations).toEqual(plain.observations);
    expect(packed.summary).toEqual(plain.summary);
  });

  it('says that a capture holds no packets', async () => {
    const { header, notes } = await readCapture(pcap([]));
    expect(header.epoch).toBeNull();
    expect(notes.map(({ says }) => says)).toEqual(['the capture holds no packets']);
  });
});

describe('pcap files that are wrong', () => {
  const one = pcap(timed([hex('00112233')]));

  it.each([
    ['an empty file', new Uint8Array(0), /the file is empty/],
    ['text', new TextEncoder().encode('{"handfast":"trace"}'), /begins with 7B226861/],
    ['three bytes of a magic', hex('d4c3b2'), /no capture file/],
    ['a magic alone', hex('d4c3b2a1'), /ends inside its header/],
    ['half a file header', one.slice(0, 12), /ends inside its header/],
    ['version 3', join(one.slice(0, 4), number(3, 2, false), one.slice(6)), /version 3/],
    ['gzip of nothing a capture is', Uint8Array.from(gzipSync('hello')), /begins with 68656C6C/],
    ['gzip that is damaged at once', hex('1f8b00000000'), /gzip/],
  ])('refuses %s', async (_, file, message) => {
    const reading = readCapture(file);
    await expect(reading).rejects.toThrow(InputError);
    await expect(reading).rejects.toThrow(message);
    await expect(reading).rejects.toThrow('test.pcap');
  });

  it('tells a file that ends inside a record, and keeps what came before', async () => {
    const file = pcap(timed([hex('0011'), hex('2233')]));
    const { summary, notes } = await readCapture(file.slice(0, -1));
    expect(summary.frames).toBe(1);
    const cut = notes.find(({ says }) => says.includes('ends inside'))!;
    expect(cut).toMatchObject({ problem: 'cut', frame: 2, byte: 24 + 16 + 2 });
  });

  it('stops at a length no link has, and says what is missing', () => {
    const file = pcap(timed([hex('0011'), hex('2233'), hex('4455')]));
    file.set(hex('ffffffff'), 24 + 18 + 8);
    const { packets, problems } = recordedBy((sink) => new PcapReader(sink), file, 20);
    expect(packets.map(({ frame }) => frame)).toEqual([1]);
    expect(problems).toMatchObject([
      { problem: 'damaged', frame: 2, byte: 24 + 18 },
      { problem: 'damaged', says: expect.stringContaining(`byte ${file.length}`) as string },
    ]);
  });

  it('tells a packed file that is cut, and keeps what came before', async () => {
    const packets = timed(Array.from({ length: 4000 }, (_, index) => number(index * 7919, 4)));
    const packed = Uint8Array.from(gzipSync(pcap(packets)));
    const { summary, notes } = await readCapture(packed.slice(0, packed.length - 2000), 1000);
    expect(summary.frames).toBeGreaterThan(0);
    expect(summary.frames).toBeLessThan(4000);
    expect(notes.some(({ says }) => says.includes('gzip'))).toBe(true);
  });

  it('tells a clock that steps back by more than jitter, and by how much', async () => {
    const times = [0n, 5_000_000_000n, 4_999_999_000n, 2_000_000_000n];
    const packets = times.map((time) => ({ bytes: hex('00'), time_ns: START_NS + time }));
    const { notes } = await readCapture(pcap(packets));
    expect(notes.filter(({ problem }) => problem === 'clock')).toMatchObject([
      { frame: 4, says: "the recorder's clock stepped back by 2.999999 s" },
    ]);
  });

  it('tells a time too far from the first to be counted in nanoseconds', async () => {
    const packets = [START_NS, 0n].map((time_ns) => ({ bytes: hex('00'), time_ns }));
    const { notes } = await readCapture(pcap(packets));
    expect(notes.find(({ problem }) => problem === 'clock')).toMatchObject({ frame: 2, at_ns: 0 });
  });

  it('closes its source when reading is given up', async () => {
    let closed = false;
    const source = (async function* (): AsyncGenerator<Uint8Array> {
      try {
        for await (const chunk of chunked(pcap(timed([hex('00'), hex('01')])), 8)) yield chunk;
      } finally {
        closed = true;
      }
    })();
    const capture = await openCapture(source, 'given-up.pcap');
    for await (const batch of capture.observations) {
      if (batch.length > 0) break;
    }
    expect(closed).toBe(true);
  });
});
