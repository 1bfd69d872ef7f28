// Bytes from anywhere: whatever they are, reading ends in observations or an InputError, soon.
import { readFileSync } from 'node:fs';
import * as fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { InputError } from '../../src/trace/input-error.ts';
import {
  enhanced,
  ethernet,
  hex,
  interfaceBlock,
  ipv6,
  join,
  pcap,
  readCapture,
  section,
  tcp,
  timed,
  udp,
  v2gtp,
} from './build.ts';
import { wholeTalk } from './session.ts';
import type { Read } from './build.ts';

const field = ['iso2-clean.pcap', 'iso2-clean-lossy-network.pcapng'].map((file) =>
  Uint8Array.from(readFileSync(`traces/field/${file}`)),
);

/** What reading gave, or null for a refusal with an InputError; anything else fails. */
async function readOrRefuse(file: Uint8Array): Promise<Read | null> {
  try {
    return await readCapture(file, 4096);
  } catch (error) {
    expect(error).toBeInstanceOf(InputError);
    return null;
  }
}

function isWellFormed({ observations }: Read): boolean {
  return observations.every(
    ({ at_ns, frame }) => Number.isSafeInteger(at_ns) && (frame === undefined || frame >= 1),
  );
}

describe('bytes from anywhere', () => {
  it('behind the magic of a capture', () =>
    fc.assert(
      fc.asyncProperty(
        fc.constantFrom('d4c3b2a1', 'a1b2c3d4', '4d3cb2a1', '0a0d0d0a', '1f8b08'),
        fc.uint8Array({ maxLength: 400 }),
        async (magic, rest) => {
          const read = await readOrRefuse(join(hex(magic), rest));
          expect(read === null || isWellFormed(read)).toBe(true);
        },
      ),
      { numRuns: 300 },
    ));

  it('in a capture whose bits were flipped', () =>
    fc.assert(
      fc.asyncProperty(
        fc.constantFrom(...field),
        fc.array(fc.tuple(fc.nat(), fc.nat(7)), { minLength: 1, maxLength: 40 }),
        async (whole, flips) => {
          const file = whole.slice();
          for (const [at, bit] of flips) file[at % file.length]! ^= 1 << bit;
          const read = await readOrRefuse(file);
          expect(read === null || isWellFormed(read)).toBe(true);
        },
      ),
      { numRuns: 100 },
    ));

  it('in a capture of which pieces are gone, repeated or in another place', () =>
    fc.assert(
      fc.asyncProperty(
        fc.constantFrom(...field),
        fc.array(fc.tuple(fc.nat(), fc.nat(), fc.nat(3000)), { minLength: 1, maxLength: 4 }),
        async (whole, moves) => {
          let file: Uint8Array = whole;
          for (const [from, to, length] of moves) {
            const piece = file.slice(from % file.length, (from % file.length) + length);
            file = join(
              file.slice(0, to % file.length),
              piece,
              file.slice((to % file.length) + (length % 7)),
            );
          }
          const read = await readOrRefuse(file);
          expect(read === null || isWellFormed(read)).toBe(true);
        },
      ),
      { numRuns: 60 },
    ));

  it('in packets of every kind that is read', () => {
    const bytes = fc.uint8Array({ maxLength: 120 });
    const packet = fc.oneof(
      bytes,
      bytes.map((body) => ethernet(0x88e1, body)),
      bytes.map((body) => ethernet(0x88e1, join(hex('01 7d60 0000'), body))),
      bytes.map((body) => ethernet(0x0800, body)),
      bytes.map((body) => ethernet(0x86dd, body)),
      fc
        .tuple(fc.constantFrom(0, 6, 17, 43, 44, 51, 60), bytes)
        .map(([next, body]) => ethernet(0x86dd, ipv6(next, body))),
      bytes.map((body) => ethernet(0x86dd, ipv6(17, udp(15_118, 15_118, body)))),
      fc
        .record({
          sequence: fc.nat(300),
          acknowledgement: fc.nat(300),
          flags: fc.nat(63),
          from: fc.constantFrom('vehicle' as const, 'charger' as const),
          body: bytes,
        })
        .map(({ body, ...setting }) => tcp(body, setting)),
      fc.tuple(fc.nat(300), bytes).map(([sequence, body]) => tcp(v2gtp(body), { sequence })),
    );
    return fc.assert(
      fc.asyncProperty(
        fc.array(packet, { maxLength: 60 }),
        fc.constantFrom(1, 113, 276, 101),
        async (packets, linkType) => {
          const read = await readOrRefuse(pcap(timed(packets), { linkType }));
          expect(isWellFormed(read!)).toBe(true);
          const frames = read!.observations.flatMap(({ frame }) => frame ?? []);
          expect(frames).toEqual([...frames].sort((left, right) => left - right));
        },
      ),
      { numRuns: 300 },
    );
  });

  it('in the order of frames whatever order the packets of a session come in', () => {
    const { packets } = wholeTalk();
    return fc.assert(
      fc.asyncProperty(fc.shuffledSubarray([...packets, ...packets]), async (shuffled) => {
        const { observations } = await readCapture(pcap(timed(shuffled)));
        const frames = observations.map(({ frame }) => frame!);
        expect(frames).toEqual([...frames].sort((left, right) => left - right));
      }),
      { numRuns: 200 },
    );
  });
});

describe('input made to take long', () => {
  const soon_ms = 5000;

  it('a damaged pcapng file full of false block heads', async () => {
    const heads = new Uint8Array(4 * 1024 * 1024);
    for (let at = 0; at < heads.length; at += 8) heads.set(hex('06000000 60000000'), at);
    const started = performance.now();
    const read = await readCapture(
      join(section(), interfaceBlock(), hex('ffffffff ffffffff'), heads),
      65_536,
    );
    expect(performance.now() - started).toBeLessThan(soon_ms);
    expect(read.notes.length).toBeLessThan(50);
  });

  it('a stream full of false V2GTP headers', async () => {
    const false_ = hex('01fe8001fffffff0'.repeat(180));
    const packets = Array.from({ length: 2000 }, (_, index) =>
      tcp(false_, { sequence: index * false_.length }),
    );
    const started = performance.now();
    await readCapture(pcap(timed(packets)));
    expect(performance.now() - started).toBeLessThan(soon_ms);
  });

  it('a hole that never fills, with ever more behind it', async () => {
    const behind = Array.from({ length: 30_000 }, (_, index) =>
      tcp(hex('00'), { sequence: 10 + 2 * index }),
    );
    const started = performance.now();
    await readCapture(pcap(timed([tcp(hex('00'), { sequence: 0 }), ...behind], 1000n)));
    expect(performance.now() - started).toBeLessThan(soon_ms);
  });

  it('a block that says it is large and comes in small chunks', async () => {
    const large = enhanced(new Uint8Array(8 * 1024 * 1024), 0n);
    const started = performance.now();
    const { summary } = await readCapture(join(section(), interfaceBlock(), large), 512);
    expect(performance.now() - started).toBeLessThan(soon_ms);
    expect(summary.frames).toBe(1);
  });
});
