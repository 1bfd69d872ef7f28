// Streams written out as bits, the way the recommendation prints them.
import { expect } from 'vitest';
import type { Json } from '../../../src/trace/observation.ts';
import { Decoder } from '../../../src/wire/exi/decoder.ts';
import { Encoder } from '../../../src/wire/exi/encoder.ts';
import { buildGrammar } from '../../../src/wire/exi/grammar-builder.ts';
import { parseModel } from '../../../src/wire/exi/notation.ts';

/** Bytes of a text of bits; blanks part it for the reader, zeros fill the last byte. */
export function bytesOf(bits: string): Uint8Array {
  const digits = bits.replaceAll(/\s/g, '');
  return Uint8Array.from({ length: Math.ceil(digits.length / 8) }, (_, at) =>
    Number.parseInt(digits.slice(8 * at, 8 * at + 8).padEnd(8, '0'), 2),
  );
}

/** The codec of a model of our own. */
export function codecOf(text: string): { encoder: Encoder; decoder: Decoder } {
  const grammar = buildGrammar('test', parseModel([{ name: 'test model', text }]));
  return { encoder: new Encoder(grammar), decoder: new Decoder(grammar) };
}

/**
 * Expects, both ways, that the value of an element `v` of `type` is written as `bits`. Around it:
 * header, element r (1 bit: one global, and any other), element v and its content (1 bit each: one
 * production, and the escape); then the ends of v and r (1 bit each).
 */
export function expectBits(declarations: string, type: string, value: Json, bits: string): void {
  const { encoder, decoder } = codecOf(`${declarations}\ndocument r\nelement r\n v ${type}`);
  const stream = bytesOf(`10000000 0 0 0 ${bits} 0 0`);
  expect(encoder.encode({ v: value })).toEqual(stream);
  expect(decoder.decode(stream)).toEqual({ v: value });
}
