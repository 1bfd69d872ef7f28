// Worked values of the built-in types. Source: W3C EXI 1.0 (Second Edition), sections as named; all
// from memory, bits worked out by hand from the rules there.
import { describe, expect, test } from 'vitest';
import { bytesOf, codecOf, expectBits } from './bit-text.ts';

describe('7.1.1 Binary: a length as Unsigned Integer, then the octets', () => {
  test.each([
    ['hexBinary', '', '00000000'],
    ['hexBinary', '0FB7', '00000010 00001111 10110111'],
    ['base64Binary', 'D7c=', '00000010 00001111 10110111'],
  ])('%s %s', (type, value, bits) => {
    expectBits('', type, value, bits);
  });
});

test('7.1.2 Boolean: one bit, 0 for false', () => {
  expectBits('', 'boolean', false, '0');
  expectBits('', 'boolean', true, '1');
});

describe('7.1.5 Integer: a sign, then the magnitude, of a negative one less one', () => {
  test.each([
    [0, '0 00000000'],
    [1, '0 00000001'],
    [-1, '1 00000000'],
    [-128, '1 01111111'],
    [128, '0 10000000 00000001'],
    [-129, '1 10000000 00000001'],
    [32_767, '0 11111111 11111111 00000001'],
    [-32_768, '1 11111111 11111111 00000001'],
  ])('short %i', (value, bits) => {
    expectBits('', 'short', value, bits);
  });

  test('beyond 2^53, as decimal strings', () => {
    const ones = '11111111 '.repeat(8);
    // 2^63 - 1 has nine groups of seven ones.
    expectBits('', 'long', '9223372036854775807', `0 ${ones} 01111111`);
    expectBits('', 'long', '-9223372036854775808', `1 ${ones} 01111111`);
    expectBits('', 'integer', '9007199254740993', `0 10000001 ${'10000000 '.repeat(6)} 00010000`);
  });
});

describe('7.1.6 Unsigned Integer: groups of seven bits, least significant first', () => {
  test.each([
    [0, '00000000'],
    [127, '01111111'],
    [128, '10000000 00000001'],
    [300, '10101100 00000010'],
    [16_383, '11111111 01111111'],
    [16_384, '10000000 10000000 00000001'],
    [4_294_967_295, `${'11111111 '.repeat(4)} 00001111`],
  ])('unsignedInt %i', (value, bits) => {
    expectBits('', 'unsignedInt', value, bits);
  });

  test('unsignedLong 2^64 - 1 has nine groups of ones and one bit', () => {
    const bits = `${'11111111 '.repeat(9)} 00000001`;
    expectBits('', 'unsignedLong', '18446744073709551615', bits);
  });
});

describe('7.1.9 n-bit Unsigned Integer: at most 4,096 values, as offset from the lowest', () => {
  test.each([
    ['int t byte -3 3', -3, '000'],
    ['int t byte -3 3', 3, '110'],
    ['int t byte 0 100', 25, '0011001'],
    ['int t unsignedByte 1 20', 20, '10011'],
    ['int t short 0 4095', 4095, '111111111111'],
    ['int t short 0 4096', 4095, '11111111 00011111'],
    ['int t short -1 4095', 4095, '0 11111111 00011111'],
    ['int t byte 5 5', 5, ''],
    ['plain t byte', -128, '00000000'],
    ['plain t unsignedByte', 255, '11111111'],
  ])('%s: %i', (declaration, value, bits) => {
    expectBits(declaration, 't', value, bits);
  });
});

describe('7.1.10 String: length and characters; 7.3.3: a miss adds two to the length', () => {
  test.each([
    ['', '00000010'],
    ['a', '00000011 01100001'],
    ['EXI', '00000101 01000101 01011000 01001001'],
    ['ä', '00000011 11100100 00000001'],
    // U+1F50C is one character, though two units of a JavaScript string: 0x1F50C = 7, 106, 12 from
    // the top.
    ['\u{1F50C}', '00000011 10001100 11101010 00000111'],
  ])('%j', (value, bits) => {
    expectBits('', 'string', value, bits);
  });
});

test('7.2 Enumerations: the position in the schema, n-bit', () => {
  const days = 'enum day Mon Tue Wed Thu Fri Sat Sun';
  expectBits(days, 'day', 'Mon', '000');
  expectBits(days, 'day', 'Sun', '110');
  expectBits('enum one only', 'one', 'only', '');
});

describe('7.3.3 value partitions', () => {
  const model = 'document r\nelement r\n a string 0..unbounded\n b string 0..9';
  const { encoder, decoder } = codecOf(model);
  const first = '00 0 00000011 01111000 0';

  test('a string that came under the same name is a local hit: 0, then its number', () => {
    // With one value in the partition its number takes no bits. State of r: a, b, end, escape: 2
    // bits.
    const stream = bytesOf(`10000000 0 ${first} 00 0 00000000 0 10`);
    expect(encoder.encode({ a: ['x', 'x'] })).toEqual(stream);
    expect(decoder.decode(stream)).toEqual({ a: ['x', 'x'] });
  });

  test('a string that came under another name is a global hit: 1, then its number', () => {
    // a: "x", "y" (local 0, 1); b: "y" is global number 1 of 2; b again: a global hit adds nothing.
    const second = '00 0 00000011 01111001 0';
    const hit = '00000001 1 0';
    const stream = bytesOf(`10000000 0 ${first} ${second} 01 0 ${hit} 00 0 ${hit} 01`);
    const message = { a: ['x', 'y'], b: ['y', 'y'] };
    expect(encoder.encode(message)).toEqual(stream);
    expect(decoder.decode(stream)).toEqual(message);
  });

  test('a partition lasts for one stream', () => {
    const stream = bytesOf(`10000000 0 ${first} 10`);
    for (let time = 0; time < 3; time += 1) {
      expect(encoder.encode({ a: ['x'] })).toEqual(stream);
      expect(decoder.decode(stream)).toEqual({ a: ['x'] });
    }
  });

  test('empty strings are in no partition', () => {
    const empty = '0 00000010 0';
    const stream = bytesOf(`10000000 0 00 ${empty} 00 ${empty} 10`);
    expect(encoder.encode({ a: ['', ''] })).toEqual(stream);
    expect(decoder.decode(stream)).toEqual({ a: ['', ''] });
  });

  test('many strings: numbers stay right where the search becomes a look-up', () => {
    const values = Array.from({ length: 60 }, (_, at) => `value ${at % 40}`);
    const message = { a: values, b: ['value 39', 'new', 'new', 'value 7'] };
    expect(decoder.decode(encoder.encode(message))).toEqual(message);
  });
});
