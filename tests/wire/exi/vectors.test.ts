// Source: byte vectors of an independent implementation of W3C EXI 1.0 (data/PROVENANCE.md).
import { readFileSync } from 'node:fs';
import { describe, expect, test, vi } from 'vitest';
import type { JsonObject } from '../../../src/trace/observation.ts';
import { decodeExi, encodeExi } from '../../../src/wire/exi/codec.ts';
import { Decoder } from '../../../src/wire/exi/decoder.ts';
import { grammarOf } from '../../../src/wire/exi/schemas.ts';
import { FILES } from './vectors.ts';
import type { Vector } from './vectors.ts';

describe.each(FILES)('%s of %s', (schema, file, count) => {
  const url = new URL(`data/${file}.json`, import.meta.url);
  const vectors = JSON.parse(readFileSync(url, 'utf8')) as Vector[];

  test('are as many as were delivered', () => {
    expect(vectors).toHaveLength(count);
  });

  test('decode to the message, keys in the same order', () => {
    // Many times: from the 17th message of a kind on, objects are made by generated functions.
    for (const { exi, message } of Array.from({ length: 20 }, () => vectors).flat()) {
      const decoded = decodeExi(schema, Buffer.from(exi, 'hex'));
      expect(JSON.stringify(decoded)).toBe(JSON.stringify(message));
      expect(Object.getPrototypeOf(decoded)).toBe(Object.prototype);
    }
  });

  test('decode to the message where the host forbids making functions', () => {
    const decoder = new Decoder(grammarOf(schema));
    const decoded: JsonObject[] = [];
    let refusals = 0;
    vi.stubGlobal('Function', function forbidden() {
      refusals += 1;
      throw new EvalError('code generation from strings disallowed');
    });
    try {
      for (const { exi } of Array.from({ length: 20 }, () => vectors).flat()) {
        decoded.push(decoder.decode(Buffer.from(exi, 'hex')));
      }
    } finally {
      vi.unstubAllGlobals();
    }
    expect(refusals).toBeGreaterThan(0);
    expect(decoded.slice(-count)).toEqual(vectors.map(({ message }) => message));
  });

  test('encode to the bytes', () => {
    for (const { exi, message } of vectors) {
      expect(Buffer.from(encodeExi(schema, message)).toString('hex')).toBe(exi);
    }
  });

  test('encode to the bytes whatever the order of the keys', () => {
    for (const { exi, message } of vectors) {
      const reversed = JSON.parse(JSON.stringify(message), (_, value: unknown) =>
        typeof value === 'object' && value !== null && !Array.isArray(value)
          ? Object.fromEntries(Object.entries(value).reverse())
          : value,
      ) as Vector['message'];
      expect(Buffer.from(encodeExi(schema, reversed)).toString('hex')).toBe(exi);
    }
  });
});
