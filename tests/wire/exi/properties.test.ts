// Properties of the codec on random messages and random bytes. No outside source: the vectors check
// the codes.
import { readFileSync } from 'node:fs';
import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { InputError } from '../../../src/trace/input-error.ts';
import { decodeExi, encodeExi } from '../../../src/wire/exi/codec.ts';
import type { ExiSchema } from '../../../src/wire/exi/codec.ts';
import { modelOf } from '../../../src/wire/exi/schemas.ts';
import { bytesOf, codecOf } from './bit-text.ts';
import { RandomMessages } from './random-messages.ts';
import { FILES } from './vectors.ts';
import type { Vector } from './vectors.ts';

const SCHEMAS: ExiSchema[] = ['app-protocol', 'din70121', 'iso15118-2'];

/**
 * Decodes bytes that need not be a message; true if they were one. Anything but InputError passes
 * through.
 */
function tryDecode(schema: ExiSchema, bytes: Uint8Array): boolean {
  try {
    decodeExi(schema, bytes);
    return true;
  } catch (error) {
    if (!(error instanceof InputError)) {
      throw error;
    }
    const { byte } = error.place;
    expect(byte).toBeGreaterThanOrEqual(0);
    expect(byte).toBeLessThanOrEqual(bytes.length);
    expect(error.mend).not.toBe('');
    return false;
  }
}

describe.each(SCHEMAS)('%s', (schema) => {
  test('what is encoded decodes to the same message, and that to the same bytes', () => {
    const messages = new RandomMessages(modelOf(schema)).message();
    fc.assert(
      fc.property(messages, (message) => {
        const bytes = encodeExi(schema, message);
        const decoded = decodeExi(schema, bytes);
        expect(decoded).toEqual(message);
        expect(encodeExi(schema, decoded)).toEqual(bytes);
      }),
      { numRuns: 400 },
    );
  });

  test('a message cut anywhere is refused', () => {
    const messages = new RandomMessages(modelOf(schema)).message();
    fc.assert(
      fc.property(messages, fc.nat(), (message, cut) => {
        const bytes = encodeExi(schema, message);
        expect(tryDecode(schema, bytes.subarray(0, cut % bytes.length))).toBe(false);
      }),
      { numRuns: 200 },
    );
  });

  test('random bytes are a message or an InputError', () => {
    const streams = fc.uint8Array({ maxLength: 300 });
    fc.assert(
      fc.property(streams, (bytes) => {
        tryDecode(schema, bytes);
        tryDecode(schema, Uint8Array.from([0x80, ...bytes]));
      }),
      { numRuns: 2000 },
    );
  });
});

test.each(FILES)('%s: %s with bits flipped are messages or InputErrors', (schema, file) => {
  const url = new URL(`data/${file}.json`, import.meta.url);
  const vectors = JSON.parse(readFileSync(url, 'utf8')) as Vector[];
  let refused = 0;
  fc.assert(
    fc.property(
      fc.constantFrom(...vectors),
      fc.array(fc.nat(), { minLength: 1 }),
      (vector, flips) => {
        const bytes = Buffer.from(vector.exi, 'hex');
        for (const flip of flips) {
          bytes[flip % bytes.length]! ^= 1 << ((flip >>> 10) & 7);
        }
        refused += tryDecode(schema, bytes) ? 0 : 1;
      },
    ),
    { numRuns: 1000 },
  );
  expect(refused).toBeGreaterThan(0);
});

describe('time grows with the length of the input', () => {
  /**
   * The largest input there may be, in the shape that costs most, must not take longer than this.
   */
  const BUDGET_MS = 3000;

  test('a megabyte of anything, of every schema', () => {
    for (const schema of SCHEMAS) {
      for (const filler of [0x00, 0xff, 0x55, 0x80, 0x01, 0x24]) {
        const bytes = new Uint8Array(1 << 20).fill(filler);
        bytes[0] = 0x80;
        expect(timed(() => tryDecode(schema, bytes))).toBeLessThan(BUDGET_MS);
      }
    }
  });

  test('elements that repeat without end are cut off', () => {
    const { decoder } = codecOf('document r\nelement r\n a boolean 0..unbounded');
    const bytes = new Uint8Array(1 << 20);
    bytes[0] = 0x80;
    expect(() => decoder.decode(bytes)).toThrow(/more than 4096 items in one element/);
  });

  test('elements that hold themselves are cut off', () => {
    const { decoder } = codecOf('document r\nelement r r\ntype r\n r r ?');
    const bytes = new Uint8Array(1000);
    bytes[0] = 0x80;
    expect(() => decoder.decode(bytes)).toThrow(/nested too deeply/);
  });

  test('strings that all hit the value partitions', () => {
    const { decoder } = codecOf(
      'document r\nelement r\n a b 0..unbounded\ntype b\n s string 0..4000',
    );
    // 3,000 different strings, then hits on the last, in the same element and in the next.
    const width = 12;
    const strings = Array.from({ length: 3000 }, (_, at) => textElement(at)).join('');
    const hits = `00 0 00000000 ${(2999).toString(2).padStart(width, '0')} 0`.repeat(1000);
    const stream = bytesOf(`10000000 0 00 ${strings} ${hits} 0 01`);
    let decoded: unknown;
    expect(timed(() => (decoded = decoder.decode(stream)))).toBeLessThan(BUDGET_MS);
    const s = (decoded as { a: { s: string[] }[] }).a[0]!.s;
    expect(s).toHaveLength(4000);
    expect(s[3999]).toBe(s[2999]);
  });

  test('lengths that the input does not hold cost nothing', () => {
    const { decoder } = codecOf('document r\nelement r\n v hexBinary');
    // 60,000 octets are told, none follow.
    const stream = bytesOf('10000000 0 0 0 11100000 11010100 00000011');
    expect(() => decoder.decode(stream)).toThrow(/ends too early/);
  });
});

function timed(run: () => unknown): number {
  const started = performance.now();
  run();
  return performance.now() - started;
}

/** An element of three characters that are a number, in a state of two bits, event code 0. */
function textElement(number: number): string {
  const text = number.toString(36).padStart(3, '0');
  const characters = [...text].map((one) => one.charCodeAt(0).toString(2).padStart(8, '0'));
  return `00 0 00000101 ${characters.join('')} 0`;
}
