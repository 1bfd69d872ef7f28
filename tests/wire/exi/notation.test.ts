// The notation of message models, and the widths that follow from the models we ship. The widths
// are those of bytes that real devices sent (from memory) and of the vectors' implementation
// (data/PROVENANCE.md).
import { describe, expect, test } from 'vitest';
import { buildGrammar } from '../../../src/wire/exi/grammar-builder.ts';
import type { Grammar } from '../../../src/wire/exi/grammar.ts';
import { parseModel } from '../../../src/wire/exi/notation.ts';
import { grammarOf } from '../../../src/wire/exi/schemas.ts';
import { bytesOf, codecOf } from './bit-text.ts';

const parse = (text: string): unknown => parseModel([{ name: 'a model', text }]);

describe('the document table', () => {
  test.each([
    ['din70121', 81, 7, 'V2G_Message', 77],
    ['iso15118-2', 80, 7, 'V2G_Message', 76],
    ['app-protocol', 2, 2, 'supportedAppProtocolRes', 1],
  ] as const)('of %s has %i elements', (schema, count, bits, name, code) => {
    const grammar = grammarOf(schema);
    expect(grammar.documentCount).toBe(count);
    expect(grammar.documentBits).toBe(bits);
    expect(grammar.key[grammar.documentFirst + code]).toBe(name);
  });
});

test('a body offers every message in 6 bits', () => {
  for (const schema of ['din70121', 'iso15118-2'] as const) {
    const grammar = grammarOf(schema);
    const states = Array.from(grammar.stateFirst, (_, state) => state);
    const state = states.find((one) => keysOf(grammar, one).includes('BodyElement'))!;
    const names = keysOf(grammar, state);
    expect(names).toContain('CurrentDemandReq');
    expect(names.at(-1)).toBe('');
    expect(grammar.stateBits[state]).toBe(6);
  }
});

test('a substitution group is sorted by name, its head included', () => {
  const grammar = grammarOf('iso15118-2');
  const groups = Array.from(grammar.stateFirst, (_, state) => keysOf(grammar, state).join(' '));
  const state = groups.indexOf('AC_EVSEStatus DC_EVSEStatus EVSEStatus');
  expect(grammar.stateBits[state]).toBe(2);
});

describe('another schema is data', () => {
  test('attributes by name, optional ones beside what follows', () => {
    const { encoder, decoder } = codecOf(
      'document r\nelement r\n @z boolean\n @a boolean ?\n v boolean ?',
    );
    // State of a and z: 2 bits; v, end: 2 bits; end alone: 1 bit.
    const stream = bytesOf('10000000 0 00 1 0 0 00 0 1 0 0');
    expect(encoder.encode({ '@a': true, '@z': false, v: true })).toEqual(stream);
    expect(JSON.stringify(decoder.decode(stream))).toBe('{"@a":true,"@z":false,"v":true}');
  });

  test('bounded and unbounded repetition', () => {
    const { encoder } = codecOf('document r\nelement r\n a boolean 2..3\n b boolean 1..unbounded');
    const item = '0 1 0';
    const message = { a: [true, true, true], b: [true, true] };
    // a twice alone (1 bit), then a or b (2 bits), then b alone (1 bit), then b or the end (2
    // bits).
    const stream = bytesOf(`10000000 0 0 ${item} 0 ${item} 00 ${item} 0 ${item} 00 ${item} 01`);
    expect(encoder.encode(message)).toEqual(stream);
  });

  test.each([0, 1, 2, 3, 4, 5, 6])('%i of at most six items, two of them required', (count) => {
    const { encoder, decoder } = codecOf('document r\nelement r\n n boolean\n a boolean 2..6 ');
    // Two alone (1 bit), then another or the end (2 bits), after the sixth the end alone (1 bit).
    const codes = ['0', '0', '00', '00', '00', '00'].slice(0, count).map((code) => `${code} 0 1 0`);
    const stream = bytesOf(`10000000 0 0 0 1 0 ${codes.join('')} ${count === 6 ? '0' : '01'}`);
    const message = { n: true, a: Array.from({ length: count }, () => true) };
    if (count >= 2) {
      expect(encoder.encode(message)).toEqual(stream);
      expect(decoder.decode(stream)).toEqual(message);
    } else {
      expect(() => encoder.encode(message)).toThrow('a is missing');
    }
    const many = { ...message, a: Array.from({ length: 7 }, () => true) };
    expect(() => encoder.encode(many)).toThrow('a: 7 items (the schema allows 6 of them)');
  });

  test('loops within loops count apart', () => {
    const { encoder, decoder } = codecOf(
      'document r\nelement r\n t t 0..5\n z boolean\ntype t\n a boolean 0..4\n b boolean 1..4',
    );
    const full = { a: [true, false, true, false], b: [true, true, true, true] };
    const message = { t: [full, { b: [false] }, full, { a: [true], b: [true] }, full], z: true };
    expect(decoder.decode(encoder.encode(message))).toEqual(message);
    const six = { ...message, t: [...message.t, full] };
    expect(() => encoder.encode(six)).toThrow('t: 6 items');
  });

  test('a repeating choice counts all its kinds', () => {
    const { encoder, decoder } = codecOf(
      'document r\nelement r\n repeat 0..4 choice c boolean | d boolean',
    );
    // c, d, the end, the escape: 2 bits; after the fourth the end alone: 1 bit.
    const message = { c: [false, true], d: [true, true] };
    const stream = bytesOf('10000000 0 00 0 0 0 00 0 1 0 01 0 1 0 01 0 1 0 0');
    expect(encoder.encode(message)).toEqual(stream);
    expect(decoder.decode(stream)).toEqual(message);
    const five = { c: [false, true], d: [true, true, true] };
    expect(() => encoder.encode(five)).toThrow('d: 3 items (the schema allows 2 of them)');
  });

  test('a choice, once and repeated', () => {
    const { encoder, decoder } = codecOf(
      'document r\nelement r\n choice a boolean\n | b boolean\n repeat 0..2 choice c boolean | d boolean',
    );
    const message = { b: true, c: [false], d: [true] };
    const stream = bytesOf('10000000 0 01 0 1 0 00 0 0 0 01 0 1 0 0');
    expect(encoder.encode(message)).toEqual(stream);
    expect(decoder.decode(stream)).toEqual(message);
  });

  test('mixed content: elements, a wildcard, the end, text', () => {
    const { encoder, decoder } = codecOf(
      'document r\nelement r\n v t\ntype t mixed\n @Id ID ?\n a boolean ?\n any ##other 0..unbounded',
    );
    // Id, a, any, end, text, escape: 3 bits. Without Id: a, any, end, text, escape: 3 bits.
    const stream = bytesOf('10000000 0 0 100 00000011 01111000 000 0 1 0 01 0');
    expect(encoder.encode({ v: { $: 'x', a: true } })).toEqual(stream);
    expect(decoder.decode(stream)).toEqual({ v: { $: 'x', a: true } });
    const foreign = bytesOf('10000000 0 0 010 0000');
    expect(() => decoder.decode(foreign)).toThrow(/foreign to the schema/);
  });

  test('a type derived from one of simple content has its value', () => {
    const { encoder, decoder } = codecOf(
      'document r\nelement r\n v t\ntype s = string\n @b boolean\ntype t : s\n @a boolean',
    );
    const stream = bytesOf('10000000 0 0 0 1 0 0 0 00000011 01111000 0 0');
    expect(encoder.encode({ v: { '@a': true, '@b': false, $: 'x' } })).toEqual(stream);
    expect(JSON.stringify(decoder.decode(stream))).toBe('{"v":{"@a":true,"@b":false,"$":"x"}}');
  });

  test('a type that holds itself', () => {
    const { encoder, decoder } = codecOf('document r\nelement r t\ntype t\n t t ?\n n byte');
    const message = { t: { t: { n: 3 }, n: 2 }, n: 1 };
    expect(decoder.decode(encoder.encode(message))).toEqual(message);
  });
});

describe('mistakes are told with their line', () => {
  test.each([
    ['type a\n b', 'a model, line 2: a field that cannot be read'],
    [' b string', 'a model, line 1: a field outside a type'],
    ['type a\n b string 1..x', 'line 2: x where an integer belongs'],
    ['type a\n b string 2..1', 'line 2: occurrence 2..1 is empty or too large'],
    ['type a\n b string 0..99999', 'line 2: occurrence 0..99999 is empty or too large'],
    ['type a\n\n# note\ntype a', 'line 4: a is declared twice'],
    ['hex a', 'line 1: hex is cut short'],
    ['int a byte 1 x', 'line 1: x where an integer belongs'],
    ['typ a', 'line 1: unknown keyword typ'],
    ['type', 'line 1: type without a name'],
    ['type a :', 'line 1: : names no type'],
    ['type a odd', 'line 1: unknown mark odd'],
    ['element a b c', 'line 1: unknown mark c'],
    ['type a\n @b', 'line 2: an attribute that cannot be read'],
    ['type a\n repeat 0..2 a string', 'line 2: repeat without choice'],
    ['type a\n __proto__ string', 'line 2: __proto__ is no name'],
    ['type a\n @constructor string', 'line 2: constructor is no name'],
  ])('%j', (text, says) => {
    expect(() => parse(text)).toThrow(says);
  });

  test.each([
    ['document a', 'element a'],
    ['element a b', 'type b'],
    ['element a b subst c\ntype b', 'element c'],
    ['type a : b\nelement c a', 'type b'],
    ['plain a b\nelement c\n d a', 'based on b'],
    ['plain a a\nelement c\n d a', 'based on a'],
    ['type a : b\ntype b : a\nelement c a', 'its own base'],
  ])('%j names what is not there', (text, says) => {
    const model = parseModel([{ name: 'a model', text }]);
    expect(() => buildGrammar('test', model)).toThrow(says);
  });
});

function keysOf(grammar: Grammar, state: number): string[] {
  const first = grammar.stateFirst[state]!;
  return grammar.key.slice(first, first + grammar.stateCount[state]!);
}
