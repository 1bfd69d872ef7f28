// pcapng files. Facts: draft-ietf-opsawg-pcapng, sections 3 (blocks, options) and 4 (block types).
import * as fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { PcapngReader } from '../../../src/wire/capture/pcapng.ts';
import {
  START_NS,
  block,
  enhanced,
  hex,
  interfaceBlock,
  join,
  number,
  option,
  readCapture,
  section,
} from '../build.ts';
import { recordedBy } from './record.ts';
import type { Recorded } from './record.ts';

const START_US = START_NS / 1000n;
const read = (file: Uint8Array, chunkSize?: number): Recorded =>
  recordedBy((sink) => new PcapngReader(sink), file, chunkSize);
const hexes = ({ packets }: Recorded): string[] => packets.map(({ bytes }) => bytes);

const simple = (original: number, bytes: string): Uint8Array =>
  block(3, join(number(original, 4, false), hex(bytes)));

describe('reading pcapng', () => {
  it('gives back what any writer of either byte order and resolution wrote, in chunks of any size', () => {
    const resolution = fc.constantFrom(
      { tsresol: 6, perSecond: 10n ** 6n },
      { tsresol: 9, perSecond: 10n ** 9n },
      { tsresol: 3, perSecond: 10n ** 3n },
      { tsresol: 0, perSecond: 1n },
      { tsresol: 10, perSecond: 10n ** 10n },
      { tsresol: 0x80 | 20, perSecond: 2n ** 20n },
    );
    const packet = fc.record({ bytes: fc.uint8Array({ maxLength: 60 }), wait: fc.nat(100_000) });
    fc.assert(
      fc.property(
        fc.array(fc.record({ big: fc.boolean(), resolution, packets: fc.array(packet) }), {
          maxLength: 3,
        }),
        fc.integer({ min: 1, max: 200 }),
        (sections, chunkSize) => {
          const parts: Uint8Array[] = [];
          const wanted: { bytes: string; time_ns: bigint }[] = [];
          for (const { big, resolution: unit, packets } of sections) {
            const options = option(9, number(unit.tsresol, 1, big), big);
            parts.push(section(big), interfaceBlock({ big, options }));
            let units = (START_NS / 10n ** 9n) * unit.perSecond;
            for (const { bytes, wait } of packets) {
              units += BigInt(wait);
              parts.push(enhanced(bytes, units, { big }));
              const time_ns = (units * 10n ** 9n) / unit.perSecond;
              wanted.push({ bytes: Buffer.from(bytes).toString('hex'), time_ns });
            }
          }
          const recorded = read(join(...parts), chunkSize);
          expect(recorded.problems).toEqual([]);
          expect(recorded.packets.map(({ bytes, at_ns }) => ({ bytes, at_ns }))).toEqual(
            wanted.map(({ bytes, time_ns }) => ({
              bytes,
              at_ns: Number(time_ns - wanted[0]!.time_ns),
            })),
          );
        },
      ),
    );
  });

  it('skips unknown blocks, options and name resolution, and never echoes decryption secrets', async () => {
    const secret = new TextEncoder().encode('CLIENT_RANDOM 00112233 SESSIONKEY');
    const unknownOption = join(option(2988, hex('aa55cc')), option(1, hex('686921')));
    const file = join(
      section(),
      interfaceBlock({ options: unknownOption }),
      block(0x0a, join(number(0x544c534b, 4, false), number(secret.length, 4, false), secret)),
      block(4, hex('00000000')),
      block(0x4bad, hex('01020304')),
      block(0xbad, hex('01020304')),
      enhanced(hex('aabb'), START_US),
    );
    expect(hexes(read(file))).toEqual(['aabb']);
    expect(JSON.stringify((await readCapture(file)).observations)).not.toContain('SESSIONKEY');
  });

  it('adds if_tsoffset, a signed count of seconds', () => {
    const options = join(option(9, hex('06')), option(14, number(-10n, 8, false)));
    const file = join(section(), interfaceBlock({ options }), enhanced(hex('00'), START_US));
    expect(read(file).epoch_ns).toBe(START_NS - 10_000_000_000n);
  });

  it('numbers interfaces anew in every section', () => {
    const file = join(
      section(),
      interfaceBlock({ linkType: 1 }),
      interfaceBlock({ linkType: 113 }),
      enhanced(hex('01'), START_US, { interfaceNumber: 1 }),
      section(true),
      interfaceBlock({ big: true, linkType: 276 }),
      enhanced(hex('02'), START_US, { big: true }),
    );
    expect(read(file).packets.map(({ linkType }) => linkType)).toEqual([113, 276]);
  });

  it('reads obsolete packet blocks, whose interface number has 16 bits and a drop count behind it', () => {
    const times = join(number(START_US >> 32n, 4, false), number(START_US & 0xffffffffn, 4, false));
    const body = join(
      hex('0000 0700'),
      times,
      number(3, 4, false),
      number(9, 4, false),
      hex('aabbcc00'),
    );
    const { packets } = read(join(section(), interfaceBlock(), block(2, body)));
    expect(packets).toMatchObject([{ bytes: 'aabbcc', missing: 6 }]);
  });

  it('reads simple packets: interface 0, its snapshot length, and no time of their own', () => {
    const file = join(
      section(),
      interfaceBlock({ snapshotLength: 3 }),
      enhanced(hex('00'), START_US),
      enhanced(hex('00'), START_US + 5n),
      simple(2, 'aabb0000'),
      simple(9, 'aabbcc00'),
    );
    const { packets, problems } = read(file);
    expect(packets.slice(2)).toMatchObject([
      { bytes: 'aabb', missing: 0, at_ns: 5000 },
      { bytes: 'aabbcc', missing: 6, at_ns: 5000 },
    ]);
    expect(problems.map(({ problem }) => problem)).toEqual(['clock', 'clock']);
  });

  it('tells packets that the recorder cut as truncated, the sixth and further in one sum', async () => {
    const cut = Array.from({ length: 9 }, () =>
      enhanced(new Uint8Array(60), START_US, { original: 90 }),
    );
    const { notes, summary } = await readCapture(join(section(), interfaceBlock(), ...cut));
    const told = notes.filter(({ problem }) => problem === 'cut');
    expect(told).toHaveLength(6);
    expect(told[0]).toMatchObject({
      frame: 1,
      says: expect.stringContaining('truncated') as string,
    });
    expect(told[5]!.says).toMatch(/^and 4 more like this/);
    expect(summary).toMatchObject({ frames: 9, cutFrames: 9 });
  });
});

describe('pcapng files that are damaged', () => {
  const packet = (index: number): Uint8Array =>
    enhanced(number(index, 4), START_US + BigInt(index));
  const head = join(section(), interfaceBlock());

  it('loses one block whose two lengths differ, and tells its frame and byte', () => {
    const bad = packet(2);
    bad[bad.length - 4] = 0xff;
    const recorded = read(join(head, packet(1), bad, packet(3)), 13);
    expect(hexes(recorded)).toEqual(['00000001', '00000003']);
    expect(recorded.packets[1]!.frame).toBe(3);
    expect(recorded.problems).toMatchObject([
      { problem: 'damaged', frame: 2, byte: head.length + packet(1).length },
    ]);
  });

  it.each([
    ['zero', 0],
    ['not a multiple of four', 37],
    ['beyond any packet', 0xfffffff0],
    ['beyond the file', 4096],
    ['into the block after next', 60],
  ])('finds the next block after a length that is %s', (_, length) => {
    const bad = packet(2);
    bad.set(number(length, 4, false), 4);
    const recorded = read(join(head, packet(1), bad, packet(3), packet(4)));
    expect(hexes(recorded)).toEqual(['00000001', '00000003', '00000004']);
    expect(recorded.problems.length).toBeGreaterThan(0);
  });

  it('finds the next section when bytes were lost in between', () => {
    const second = join(
      section(true),
      interfaceBlock({ big: true }),
      enhanced(hex('0a'), START_US, { big: true }),
    );
    const recorded = read(join(head, packet(1).slice(0, 21), second));
    expect(hexes(recorded)).toEqual(['0a']);
    expect(recorded.problems).toMatchObject([{ problem: 'damaged' }]);
  });

  it('skips a section of another major version up to the next section', () => {
    const recorded = read(join(section(false, 2), interfaceBlock(), packet(1), head, packet(7)));
    expect(hexes(recorded)).toEqual(['00000007']);
    expect(recorded.problems).toMatchObject([{ problem: 'unsupported', byte: 0 }]);
  });

  it('skips a section header without its byte-order magic', () => {
    const bad = section();
    bad[8] = 0;
    const recorded = read(join(head, packet(1), bad, head, packet(2)));
    expect(hexes(recorded)).toEqual(['00000001', '00000002']);
  });

  it.each([
    [
      'names an interface that is not described',
      enhanced(hex('00'), START_US, { interfaceNumber: 4 }),
    ],
    ['is too short', block(6, hex('00000000'))],
    [
      'claims more bytes than its block holds',
      block(6, hex('00000000 00000000 00000000 ffff0000 ffff0000')),
    ],
    ['is an obsolete one without its fields', block(2, hex('00000000'))],
    ['is a simple one without its length', block(3, new Uint8Array(0))],
  ])('counts and tells a packet that %s', (_, bad) => {
    const recorded = read(join(head, bad, packet(2)));
    expect(recorded.packets).toMatchObject([{ frame: 2 }]);
    expect(recorded.problems).toMatchObject([{ problem: 'damaged', frame: 1, byte: head.length }]);
  });

  it('tells a simple packet before any interface, and an interface that is too short', () => {
    const file = join(section(), block(3, hex('01000000 aa000000')), block(1, hex('0100')));
    expect(read(file).problems).toMatchObject([{ frame: 1 }, { problem: 'damaged' }]);
  });

  it('does not read an option beyond its block', () => {
    const options = join(number(9, 2, false), number(400, 2, false), hex('09000000'));
    const recorded = read(join(section(), interfaceBlock({ options }), packet(0)));
    expect(recorded.epoch_ns).toBe(START_NS);
  });

  it('tells a file that ends inside a block', () => {
    const recorded = read(join(head, packet(1), packet(2)).slice(0, -5));
    expect(hexes(recorded)).toEqual(['00000001']);
    expect(recorded.problems).toMatchObject([
      { problem: 'cut', byte: head.length + packet(1).length },
    ]);
  });

  // Seconds since 1970 of the calendar's corners: Date of ECMA-262.
  it.each([
    [-62_167_219_201n, null],
    [-62_167_219_200n, '0000-01-01T00:00:00.000000000Z'],
    [-1n, '1969-12-31T23:59:59.000000000Z'],
    [253_402_300_799n, '9999-12-31T23:59:59.000000000Z'],
    [253_402_300_800n, null],
    [2n ** 62n, null],
  ])('gives second %d the epoch %s', async (offset, epoch) => {
    const options = join(option(9, hex('00')), option(14, number(offset, 8, false)));
    const file = join(section(), interfaceBlock({ options }), enhanced(hex('00'), 0n));
    expect((await readCapture(file)).header.epoch).toBe(epoch);
  });
});
