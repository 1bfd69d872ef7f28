// IPv6, IPv4, fragments and discovery. Facts: RFC 8200, RFC 791; the SDP bytes are worked from ISO 15118-2:2014
// clause 7.10.1 (values `from memory`).
import * as fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { InputError } from '../../src/trace/input-error.ts';
import { newDatagram } from '../../src/wire/network/datagram.ts';
import { readIpv4, readIpv6 } from '../../src/wire/network/ip.ts';
import { decodeSdp } from '../../src/wire/network/sdp.ts';
import {
  CHARGER_IP,
  CHARGER_MAC,
  VEHICLE_IP,
  VEHICLE_MAC,
  ethernet,
  hex,
  ipv6,
  join,
  number,
  pcap,
  readCapture,
  timed,
  udp,
} from './build.ts';
import type { NetworkResult } from '../../src/wire/network/datagram.ts';

const REQUEST = hex('01 FE 90 00 00 00 00 02 10 00');
const RESPONSE = hex('01 FE 90 01 00 00 00 14 FE80 0000 0000 0000 0000 0000 0000 0001 C350 10 00');

const viaIpv6 = (next: number, payload: Uint8Array): Uint8Array =>
  ethernet(0x86dd, ipv6(next, payload));

function ipv4(payload: Uint8Array, flagsAndOffset = 0, options = ''): Uint8Array {
  const words = 5 + options.length / 8;
  const length = 4 * words + payload.length;
  const head = join(number(0x40 | words, 1), hex('00'), number(length, 2), hex('1234'));
  const rest = join(number(flagsAndOffset, 2), hex('40 11 0000 0a000001 0a000002'), hex(options));
  return join(head, rest, payload);
}

describe('discovery', () => {
  it('reads the worked request and response', async () => {
    const { messages } = await readCapture(
      pcap(
        timed([
          viaIpv6(17, udp(50_123, 15_118, REQUEST)),
          ethernet(
            0x86dd,
            ipv6(17, udp(15_118, 50_123, RESPONSE), CHARGER_IP, VEHICLE_IP),
            CHARGER_MAC,
            VEHICLE_MAC,
          ),
        ]),
      ),
    );
    expect(messages).toMatchObject([
      {
        protocol: 'sdp',
        from: 'vehicle',
        name: 'SECCDiscoveryReq',
        message: { security: 'none', transport: 'TCP' },
      },
      {
        from: 'charger',
        name: 'SECCDiscoveryRes',
        message: { address: 'fe80::1', port: 50_000, security: 'none', transport: 'TCP' },
        sender: '02:00:5e:20:00:01',
      },
    ]);
  });

  it.each([
    ['00', '10', { security: 'TLS', transport: 'UDP' }],
    ['20', '01', { security: 'reserved (0x20)', transport: 'reserved (0x01)' }],
  ])('tells security %s and transport %s in words', (security, transport, message) => {
    const bytes = hex(`01FE 9000 00000002 ${security} ${transport}`);
    expect(decodeSdp(bytes, 0, bytes.length).message).toEqual(message);
  });

  it.each([
    ['nothing', '', 0],
    ['half a header', '01FE9000', 4],
    ['another version', '02FE 9000 00000002 1000', 0],
    ['an inverse version that is none', '01FF 9000 00000002 1000', 1],
    ['an EXI message', '01FE 8001 00000002 8000', 2],
    ['the discovery of another medium', '01FE 9002 00000002 1000', 2],
    ['a length that is not the request’s', '01FE 9000 00000003 100000', 4],
    ['a request without its bytes', '01FE 9000 00000002 10', 4],
    ['a response as short as a request', '01FE 9001 00000002 1000', 4],
    ['a length beyond everything', '01FE 9001 ffffffff 1000', 4],
  ])('refuses %s', (_, text, byte) => {
    const bytes = hex(text);
    const read = (): unknown => decodeSdp(bytes, 0, bytes.length);
    expect(read).toThrow(InputError);
    expect(read).toThrow(`byte ${byte}`);
  });

  it('tells what comes over its port and cannot be read', async () => {
    const { notes } = await readCapture(pcap(timed([viaIpv6(17, udp(1, 15_118, hex('0102')))])));
    expect(notes).toMatchObject([{ problem: 'damaged', frame: 1 }]);
  });

  it('leaves other UDP ports alone, and tells a cut UDP header', async () => {
    const other = viaIpv6(17, udp(5353, 5353, REQUEST));
    const { observations } = await readCapture(pcap(timed([other, viaIpv6(17, hex('3b0e'))])));
    expect(observations).toMatchObject([{ kind: 'note', frame: 2 }]);
  });
});

const problemOf = (result: NetworkResult): string =>
  typeof result === 'object' && 'problem' in result ? result.problem : 'none';

describe('IPv6 extension headers', () => {
  const data = udp(50_123, 15_118, REQUEST);
  it.each([
    ['hop-by-hop options', 0, '11 00 050200000100'],
    ['a routing header of two units', 43, `11 01 ${'00'.repeat(14)}`],
    ['destination options', 60, '11 00 010400000000'],
    ['an authentication header', 51, `11 04 ${'00'.repeat(22)}`],
    ['an atomic fragment', 44, '11 00 0000 00000007'],
    ['three of them', 0, `2b 00 ${'00'.repeat(6)} 3c 00 ${'00'.repeat(6)} 11 00 ${'00'.repeat(6)}`],
  ])('are gone past: %s', async (_, next, headers) => {
    const { messages } = await readCapture(pcap(timed([viaIpv6(next, join(hex(headers), data))])));
    expect(messages).toMatchObject([{ name: 'SECCDiscoveryReq' }]);
  });

  it.each([
    ['a cut header', ipv6(17, data).slice(0, 39), /header is cut/],
    ['another version', ipv4(data), /another version/],
    ['an extension header that is cut', ipv6(0, hex('1100')), /inside an IPv6 extension/],
    ['one longer than the packet', ipv6(0, hex('11ff000000000000')), /inside an IPv6 extension/],
    ['a chain without end', ipv6(0, hex('0000000000000000'.repeat(40))), /more than 16/],
  ])('end with a reason at %s', (_, bytes, reason) => {
    expect(problemOf(readIpv6(bytes, 0, bytes.length, newDatagram()))).toMatch(reason);
  });
});

describe('IPv4', () => {
  it.each([
    ['plain', ''],
    ['with options', '01010101 00000000'],
  ])('is read %s', async (_, options) => {
    const packet = ipv4(udp(50_123, 15_118, REQUEST), 0, options.replaceAll(' ', ''));
    const { messages } = await readCapture(
      pcap(timed([ethernet(0x0800, join(packet, hex('0000')))])),
    );
    expect(messages).toMatchObject([{ name: 'SECCDiscoveryReq' }]);
  });

  it.each([
    ['a cut header', ipv4(REQUEST).slice(0, 19)],
    ['a header length below its own', join(hex('41'), ipv4(REQUEST).slice(1))],
    ['a header length beyond the packet', join(hex('4f'), ipv4(hex('00')).slice(1))],
    [
      'a total length below its header',
      join(ipv4(REQUEST).slice(0, 2), hex('0004'), ipv4(REQUEST).slice(4)),
    ],
    ['another version', ipv6(17, REQUEST)],
  ])('ends with a reason at %s', (_, bytes) => {
    expect(readIpv4(bytes, 0, bytes.length, newDatagram())).toHaveProperty('problem');
  });
});

const part = (whole: Uint8Array, from: number, to: number, more: boolean, id = 7): Uint8Array =>
  viaIpv6(
    44,
    join(hex('11 00'), number(from | (more ? 1 : 0), 2), number(id, 4), whole.slice(from, to)),
  );

describe('fragments', () => {
  it('are put together in any order, repeated or not, and told with the frame that completes them', () => {
    const whole = udp(15_118, 50_123, RESPONSE);
    const cuts = fc.uniqueArray(fc.constantFrom(8, 16, 24, 32), { minLength: 1 });
    return fc.assert(
      fc.asyncProperty(cuts, fc.infiniteStream(fc.nat()), async (at, order) => {
        const ends = [...at.sort((a, b) => a - b), whole.length];
        const parts = ends.map((end, index) =>
          part(whole, index === 0 ? 0 : ends[index - 1]!, end, end !== whole.length),
        );
        const shuffled = [...parts, ...parts.slice(0, -1)]
          .map((bytes) => ({ bytes, rank: order.next().value }))
          .sort((a, b) => a.rank - b.rank)
          .map(({ bytes }) => bytes);
        const { messages } = await readCapture(pcap(timed(shuffled)));
        expect(messages[0]).toMatchObject({ name: 'SECCDiscoveryRes', message: { port: 50_000 } });
        const seen = new Set<Uint8Array>();
        const complete = shuffled.findIndex((bytes) => seen.add(bytes).size === parts.length);
        expect(messages[0]!.frame).toBe(complete + 1);
      }),
      { numRuns: 40 },
    );
  });

  it('of IPv4 are put together too', async () => {
    const whole = udp(50_123, 15_118, REQUEST);
    const frames = [ipv4(whole.slice(8), 1), ipv4(whole.slice(0, 8), 0x2000)];
    const { messages } = await readCapture(
      pcap(timed(frames.map((packet) => ethernet(0x0800, packet)))),
    );
    expect(messages).toMatchObject([{ name: 'SECCDiscoveryReq', frame: 2 }]);
  });

  it('that stay incomplete are told, and never fill the memory', async () => {
    const whole = udp(15_118, 50_123, RESPONSE);
    const lone = Array.from({ length: 70 }, (_, id) => part(whole, 0, 8, true, id));
    const { messages, summary } = await readCapture(pcap(timed(lone)));
    expect(messages).toEqual([]);
    expect(summary.problems).toMatchObject([{ problem: 'damaged', count: 70 }]);
  });

  it('beyond the longest datagram are told', async () => {
    const far = viaIpv6(44, join(hex('11 00 fff8 00000001'), new Uint8Array(16)));
    const { notes } = await readCapture(pcap(timed([far])));
    expect(notes).toMatchObject([
      { problem: 'damaged', says: expect.stringContaining('too long') as string },
    ]);
  });

  it('too many of one datagram are given up', async () => {
    const whole = udp(15_118, 50_123, RESPONSE);
    const many = Array.from({ length: 130 }, () => part(whole, 8, 16, true));
    const { summary } = await readCapture(pcap(timed(many)));
    expect(summary.problems[0]).toMatchObject({ problem: 'damaged' });
  });
});
