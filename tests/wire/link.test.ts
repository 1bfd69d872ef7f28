// Link layers: a field capture wrapped otherwise must tell the same messages. Layouts: IEEE 802.1Q for tags, the
// LINKTYPE_LINUX_SLL and LINKTYPE_LINUX_SLL2 pages of the pcap link-type registry (`from memory`).
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join as pathOf } from 'node:path';
import { describe, expect, it } from 'vitest';
import { PcapReader } from '../../src/wire/capture/pcap.ts';
import { runTool, toolSkipped } from '../support/tools.ts';
import { START_NS, hex, join, number, pcap, readCapture, timed } from './build.ts';
import { recordedBy } from './capture/record.ts';
import type { MessageObservation } from '../../src/trace/observation.ts';
import type { PcapSetting, Timed } from './build.ts';

const field = Uint8Array.from(readFileSync('traces/field/iso2-clean.pcap'));
const frames: Timed[] = recordedBy((sink) => new PcapReader(sink), field).packets.map(
  ({ bytes, at_ns }) => ({ bytes: hex(bytes), time_ns: START_NS + BigInt(at_ns) }),
);

function wrapped(wrap: (frame: Uint8Array) => Uint8Array, setting: PcapSetting = {}): Uint8Array {
  return pcap(
    frames.map(({ bytes, time_ns }) => ({ bytes: wrap(bytes), time_ns })),
    setting,
  );
}

const tagged =
  (...tags: string[]) =>
  (frame: Uint8Array): Uint8Array =>
    join(frame.slice(0, 12), ...tags.map(hex), frame.slice(12));

const cooked1 = (frame: Uint8Array): Uint8Array =>
  join(hex('0000 0001 0006'), frame.slice(6, 12), hex('0000'), frame.slice(12));

const cooked2 = (frame: Uint8Array): Uint8Array =>
  join(
    frame.slice(12, 14),
    hex('0000 00000002 0001 00 06'),
    frame.slice(6, 12),
    hex('0000'),
    frame.slice(14),
  );

const told = (messages: MessageObservation[]): unknown[] =>
  messages.map(({ frame, at_ns, from, name, message, sender }) => ({
    frame,
    at_ns,
    from,
    name,
    message,
    sender,
  }));

const variants: [string, Uint8Array][] = [
  ['one VLAN tag', wrapped(tagged('8100 0064'))],
  ['two stacked VLAN tags', wrapped(tagged('88a8 0001', '8100 0064'))],
  [
    'three tags, the outer of the older kind',
    wrapped(tagged('9100 0001', '8100 0002', '8100 0003')),
  ],
  ['Linux cooked capture', wrapped(cooked1, { linkType: 113 })],
  [
    'Linux cooked capture with a tag',
    wrapped((f) => cooked1(tagged('8100 0064')(f)), { linkType: 113 }),
  ],
  ['Linux cooked capture, version 2', wrapped(cooked2, { linkType: 276, big: true })],
];

describe('the same session over', () => {
  it.each(variants)('%s', async (_, file) => {
    const plain = await readCapture(field);
    const other = await readCapture(file);
    expect(told(other.messages)).toEqual(told(plain.messages));
    expect(other.notes).toEqual([]);
    expect(plain.messages).toHaveLength(199);
  });

  it.each([
    ['raw IP', 101],
    ['raw IPv6', 229],
  ])('%s, without its SLAC and its link-layer addresses', async (_, linkType) => {
    const ip = frames.filter(({ bytes }) => bytes[12] === 0x86);
    const cut = ip.map(({ bytes, time_ns }) => ({ bytes: bytes.slice(14), time_ns }));
    const { messages, links } = await readCapture(pcap(cut, { linkType }));
    expect(messages).toHaveLength(180);
    expect(messages[0]).not.toHaveProperty('sender');
    expect(links[0]).not.toHaveProperty('vehicleAddress');
    expect(links[0]).toMatchObject({ state: 'opened', vehicleEnd: '[fe80::5eff:fe10:1]:50002' });
  });

  it.skipIf(toolSkipped('tshark', 'VLAN and cooked variants'))(
    'is wrapped here as tshark reads it',
    () => {
      const folder = mkdtempSync(pathOf(tmpdir(), 'handfast-link-'));
      for (const [name, file] of variants) {
        const path = pathOf(folder, 'variant.pcap');
        writeFileSync(path, file);
        const args = [
          '-r',
          path,
          '-T',
          'fields',
          '-e',
          'homeplug_av.mmhdr.mmtype',
          '-e',
          'tcp.len',
        ];
        const lines = runTool('tshark', args).split('\n');
        expect(lines.filter((line) => line.startsWith('0x60')).length, name).toBe(19);
        expect(lines.filter((line) => /\t[1-9]/.test(line)).length, name).toBe(178);
      }
      rmSync(folder, { recursive: true });
    },
  );
});

describe('link layers that cannot be read', () => {
  it.each([
    [227, /CAN bus: Systems A and B are not read yet/],
    [105, /wireless LAN/],
    [9999, /link layer is not read/],
  ])('tells link type %i once', async (linkType, says) => {
    const { notes, summary, observations } = await readCapture(
      pcap(timed([hex('00'), hex('01'), hex('02')]), { linkType }),
    );
    expect(observations).toHaveLength(1);
    expect(notes).toMatchObject([{ problem: 'unsupported', frame: 1 }]);
    expect(notes[0]!.says).toMatch(says);
    expect(summary.linkTypes).toMatchObject([{ linkType, frames: 3, read: false }]);
  });

  it.each([
    ['an Ethernet frame without a type', 1, 'ffffffffffff'],
    ['a tag at the end of its frame', 1, 'ffffffffffff 020000000001 8100 00'],
    ['nothing but tags', 1, `ffffffffffff 020000000001 ${'8100 0001'.repeat(10)}`],
    ['a short cooked header', 113, '0000 0001 0006'],
    ['a short cooked header of version 2', 276, '86dd 0000'],
    ['a version 2 tag without its type', 276, `8100 0000 00000002 0001 00 06 020000000001 0000 00`],
    ['an empty raw packet', 101, ''],
  ])('tells %s', async (_, linkType, bytes) => {
    const { notes, messages } = await readCapture(pcap(timed([hex(bytes)]), { linkType }));
    expect(messages).toEqual([]);
    expect(notes).toMatchObject([{ problem: 'damaged', frame: 1 }]);
    expect(notes[0]!.says).toContain('link-layer header is cut');
  });

  it('leaves other traffic alone', async () => {
    const arp = join(hex('ffffffffffff 020000000001 0806'), number(1, 28));
    const { observations } = await readCapture(pcap(timed([arp])));
    expect(observations).toEqual([]);
  });
});
