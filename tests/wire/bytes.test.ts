// Addresses as text. Examples: RFC 5952 sections 1 and 4 (`from memory`).
import { describe, expect, it } from 'vitest';
import { addressText, endText, hexText, macText } from '../../src/wire/bytes.ts';
import { hex } from './build.ts';

describe('addresses', () => {
  it.each([
    ['20010db8000000000000000000000001', '2001:db8::1'],
    ['20010db8000000000001000000000001', '2001:db8::1:0:0:1'],
    ['20010db8000000010001000100010001', '2001:db8:0:1:1:1:1:1'],
    ['20010000000000010000000000000001', '2001:0:0:1::1'],
    ['00000000000000000000000000000000', '::'],
    ['00000000000000000000000000000001', '::1'],
    ['fe800000000000000000000000000000', 'fe80::'],
    ['c0a80001', '192.168.0.1'],
  ])('writes %s as %s', (bytes, text) => {
    expect(addressText(hex(bytes), 0, bytes.length / 2)).toBe(text);
  });

  it('writes ends, link-layer addresses and digits', () => {
    expect(endText('fe80::1', 15118)).toBe('[fe80::1]:15118');
    expect(endText('10.0.0.1', 80)).toBe('10.0.0.1:80');
    expect(macText(hex('ff02005E10ABCD'), 1)).toBe('02:00:5e:10:ab:cd');
    expect(hexText(hex('00abcdef'), 1, 4)).toBe('ABCDEF');
  });
});
