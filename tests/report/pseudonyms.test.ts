// Identifiers in a report: other names, the same everywhere; secrets never. The addresses are from RFC 7042 and RFC 3849
// (documentation ranges) or invented.
import { describe, expect, it } from 'vitest';
import { reportParts } from '../../src/report/report-data.ts';
import { Pseudonyms } from '../../src/report/pseudonyms.ts';
import { replayed } from './page/browser.ts';

const MAC = '02:00:5e:10:03:01';

describe('pseudonyms', () => {
  it('names one identifier alike however it is spelt', () => {
    const names = new Pseudonyms(false);
    expect(names.leaf(['header', 'sender'], MAC)).toBe('address-1');
    expect(names.leaf(['message', 'EVCCID'], '02005E100301')).toBe('address-1');
    expect(names.text(`from ${MAC.toUpperCase()} to 02-00`)).toBe('from address-1 to 02-00');
    expect(names.name('address', '02:00:5e:10:03:02')).toBe('address-2');
  });

  it('finds in texts what messages named', () => {
    const names = new Pseudonyms(false);
    names.leaf(['header', 'SessionID'], 'F4670327B8343861');
    names.leaf(['message', 'eMAID'], 'ZZ1A2B3C4D5E6F7');
    expect(names.deep({ says: ['session F4670327B8343861 of ZZ1A2B3C4D5E6F7'] })).toEqual({
      says: ['session session-1 of contract-1'],
    });
  });

  it('hides a link-local address, which is made from the MAC address', () => {
    const names = new Pseudonyms(false);
    expect(names.text('[fe80::5eff:fe10:1]:50001')).toBe('[address-1]:50001');
    expect(names.text('2001:db8::1 answers')).toBe('address-2 answers');
    expect(names.text('at 12:30:45 a:b')).toBe('at 12:30:45 a:b');
  });

  it('leaves what everybody has, and words of the language', () => {
    const names = new Pseudonyms(false);
    expect(names.leaf(['message', 'sender'], 'ff:ff:ff:ff:ff:ff')).toBe('ff:ff:ff:ff:ff:ff');
    expect(names.leaf(['header', 'SessionID'], '00')).toBe('00');
    names.leaf(['message', 'EVCCID'], 'vehicle');
    expect(names.text('the vehicle broke it')).toBe('the vehicle broke it');
  });

  it('withholds secrets even where identities are shown', () => {
    const names = new Pseudonyms(true);
    expect(names.leaf(['message', 'NMK'], '00112233445566778899AABBCCDDEEFF')).toBe('withheld');
    const key = ['message', 'ContractSignatureEncryptedPrivateKey', 'value'];
    expect(names.leaf(key, 'AAAA')).toBe('withheld');
    expect(names.leaf(['message', 'EVCCID'], '02005E100301')).toBe('02005E100301');
    expect(new Pseudonyms(false).leaf(['message', 'Certificate'], 'MIIB')).toBe('withheld');
  });
});

describe('a report', () => {
  it('holds no identifier of the capture, unless it is asked to', async () => {
    const input = await replayed('traces/field/iso2-demand-under-foreign-session.pcapng');
    const shown = JSON.stringify(reportParts({ ...input, identities: true }));
    const hidden = JSON.stringify(reportParts(input));
    const found = new Set(shown.match(/02:00:5e:[0-9a-f:]{8}|02005E[0-9A-F]{6}|fe80:[0-9a-f:]+/g));
    const sessions = new Set(shown.match(/(?<=SessionID.{0,40})[0-9A-F]{16}/g));
    expect(found.size).toBeGreaterThan(3);
    for (const one of [...found, ...sessions]) expect(hidden, one).not.toContain(one);
  });
});
