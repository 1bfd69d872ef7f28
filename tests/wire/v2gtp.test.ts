// V2GTP framing and the choice of the message set. Header and types: ISO 15118-2:2014 clause 7.8.3,
// DIN SPEC 70121:2014 clause 8.7, namespaces of both (values `from memory`).
import * as fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Framer } from '../../src/wire/v2gtp/framer.ts';
import { MAX_PAYLOAD_BYTES, payloadTypeName } from '../../src/wire/v2gtp/header.ts';
import { hex, join, number, pcap, readCapture, timed, v2gtp } from './build.ts';
import {
  DIN,
  ISO_2,
  ISO_20,
  Talk,
  choose,
  din,
  iso2,
  offer,
  setupReq,
  stopReq,
  stopRes,
} from './session.ts';
import type { Unreadable } from '../../src/wire/v2gtp/framer.ts';
import type { Read } from './build.ts';

function framed(lost = false): { framer: Framer; payloads: string[]; faults: Unreadable[] } {
  const payloads: string[] = [];
  const faults: Unreadable[] = [];
  const sink = {
    payload: (type: number, bytes: Uint8Array, start: number, end: number): void => {
      const body = Buffer.from(bytes.subarray(start, end)).toString('hex');
      payloads.push(`${type.toString(16)} ${body}`);
    },
    unreadable: (fault: Unreadable): void => {
      faults.push(fault);
    },
  };
  return { framer: new Framer(sink, lost), payloads, faults };
}

const read = (talk: Talk): Promise<Read> => readCapture(pcap(timed(talk.packets)));
const protocols = ({ messages }: Read): string[] =>
  messages.map(({ protocol, name }) => `${protocol} ${name}`);

describe('framing', () => {
  it('finds the same messages however the stream is cut', () => {
    const message = fc.record({
      type: fc.constantFrom(0x8001, 0x8002),
      body: fc.uint8Array({ maxLength: 40 }),
    });
    fc.assert(
      fc.property(
        fc.array(message),
        fc.array(fc.integer({ min: 1, max: 30 })),
        (messages, cuts) => {
          const stream = join(...messages.map(({ type, body }) => v2gtp(body, type)));
          const { framer, payloads, faults } = framed();
          let at = 0;
          for (const length of [...cuts, stream.length]) {
            framer.data(stream, at, Math.min(stream.length, at + length));
            at = Math.min(stream.length, at + length);
          }
          framer.end();
          expect(faults).toEqual([]);
          expect(payloads).toEqual(
            messages.map(
              ({ type, body }) => `${type.toString(16)} ${Buffer.from(body).toString('hex')}`,
            ),
          );
        },
      ),
    );
  });

  const good = v2gtp(hex('aabb'));
  it.each([
    ['another version', '02fe8001 00000000', 0, /version 2, 1 was expected/],
    [
      'an inverse version that is none',
      '01ff8001 00000000',
      1,
      /inverse version 255 should be 254/,
    ],
    ['a length beyond any message', '01fe8001 00100001', 4, /1048577 is beyond any message/],
  ])('tells %s with its byte and goes on with the next message', (_, bad, byte, says) => {
    for (const size of [1, 3, 100]) {
      const { framer, payloads, faults } = framed();
      const stream = join(good, hex(bad), good);
      for (let at = 0; at < stream.length; at += size) {
        framer.data(stream, at, Math.min(stream.length, at + size));
      }
      framer.end();
      expect(payloads).toEqual(['8001 aabb', '8001 aabb']);
      expect(faults[0]!.says).toMatch(says);
      if (size === 100) expect(faults[0]!.byte).toBe(good.length + byte);
      expect(faults.reduce((sum, { bytes }) => sum + bytes, 0)).toBe(8);
    }
  });

  it('counts every byte it leaves out, whatever comes', () => {
    fc.assert(
      fc.property(
        fc.uint8Array({ maxLength: 200 }),
        fc.boolean(),
        fc.integer({ min: 1, max: 50 }),
        (stream, lost, size) => {
          const { framer, payloads, faults } = framed(lost);
          for (let at = 0; at < stream.length; at += size) {
            framer.data(stream, at, Math.min(stream.length, at + size));
          }
          framer.end();
          const left = faults.reduce((sum, { bytes }) => sum + bytes, 0);
          const told = payloads.reduce((sum, text) => sum + 8 + text.split(' ')[1]!.length / 2, 0);
          expect(left + told).toBe(stream.length);
        },
      ),
    );
  });

  it('does not take memory for a length before its bytes come', () => {
    const { framer, payloads } = framed();
    const before = process.memoryUsage().arrayBuffers;
    for (let index = 0; index < 50; index++) {
      const open = framed().framer;
      open.data(join(hex('01fe8001'), number(MAX_PAYLOAD_BYTES, 4)), 0, 8);
    }
    expect(process.memoryUsage().arrayBuffers - before).toBeLessThan(4 * 1024 * 1024);
    framer.data(v2gtp(new Uint8Array(MAX_PAYLOAD_BYTES)), 0, MAX_PAYLOAD_BYTES + 8);
    expect(payloads).toHaveLength(1);
  });

  it.each([
    [0x8004, '0x8004 (ISO 15118-20)'],
    [0xa001, '0xA001 (manufacturer specific)'],
    [0x7000, '0x7000'],
  ])('names payload type %i', (type, name) => {
    expect(payloadTypeName(type)).toBe(name);
  });
});

describe('the message set', () => {
  it.each([
    [
      'the second offered',
      [DIN, ISO_2],
      2,
      iso2('SessionStopReq', { ChargingSession: 'Terminate' }),
      'iso15118-2',
    ],
    ['the first offered', [DIN, ISO_2], 1, din('SessionStopReq', {}), 'din70121'],
    ['the only one, not named again', [DIN], null, din('SessionStopReq', {}), 'din70121'],
    [
      'one in other letters',
      ['URN:DIN:70121:2012:MsgDef'],
      1,
      din('SessionStopReq', {}),
      'din70121',
    ],
  ])('is %s', async (_, offered, chosen, message, protocol) => {
    const talk = new Talk()
      .open()
      .push('vehicle', offer(...offered))
      .push('charger', choose(chosen));
    const told = await read(talk.push('vehicle', message));
    expect(protocols(told).at(-1)).toBe(`${protocol} SessionStopReq`);
    expect(told.notes).toEqual([]);
  });

  it.each([ISO_20, 'urn:iso:15118:2:2010:MsgDef'])(
    'is told when it is not read: %s',
    async (chosen) => {
      const talk = new Talk().open().push('vehicle', offer(DIN, chosen)).push('charger', choose(2));
      talk
        .push('vehicle', v2gtp(hex('808c0011'), 0x8002))
        .push('vehicle', v2gtp(hex('808c00'), 0x8002));
      const told = await read(talk.push('vehicle', stopReq));
      expect(protocols(told)).toHaveLength(2);
      expect(told.notes).toMatchObject([
        { problem: 'unsupported', frame: 5, says: expect.stringContaining(chosen) as string },
        { problem: 'unsupported', frame: 6, says: expect.stringContaining('0x8002') as string },
      ]);
    },
  );

  it('may be chosen anew on one connection', async () => {
    const talk = new Talk().open().push('vehicle', offer(ISO_2)).push('charger', choose(1));
    talk.push('vehicle', stopReq).push('vehicle', offer(DIN)).push('charger', choose(1));
    const told = await read(talk.push('vehicle', din('SessionStopReq', {})));
    expect(protocols(told).slice(2)).toEqual([
      'iso15118-2 SessionStopReq',
      'app-protocol supportedAppProtocolReq',
      'app-protocol supportedAppProtocolRes',
      'din70121 SessionStopReq',
    ]);
  });

  it.each([
    ['a refusal', choose(null, 'Failed_NoNegotiation')],
    ['a schema that was not offered', choose(9)],
  ])('stays open after %s, and is then found by what fits', async (_, answer) => {
    const talk = new Talk().open().push('vehicle', offer(ISO_20)).push('charger', answer);
    const told = await read(talk.push('vehicle', din('SessionStopReq', {})));
    expect(protocols(told).at(-1)).toBe('din70121 SessionStopReq');
    expect(told.notes).toMatchObject([{ says: expect.stringContaining('no handshake') as string }]);
  });

  it.each([
    ['din70121', din('SessionStopReq', {})],
    ['iso15118-2', setupReq],
  ])('of a connection joined behind its handshake is found: %s', async (protocol, message) => {
    const told = await read(new Talk().push('vehicle', message));
    expect(told.messages).toMatchObject([{ protocol, from: 'vehicle' }]);
    expect(told.notes).toMatchObject([{ says: expect.stringContaining(protocol) as string }]);
    expect(told.notes[0]).not.toHaveProperty('problem');
  });
});

describe('messages that cannot be read', () => {
  it.each([
    ['nothing', ''],
    ['no EXI', 'ffffffff'],
    ['an EXI header alone', '80'],
    ['a message that breaks off', Buffer.from(stopRes.slice(8, -3)).toString('hex')],
    ['another message set', Buffer.from(din('SessionStopReq', {}).slice(8)).toString('hex')],
  ])('are told, and the next is read: %s', async (_, payload) => {
    const talk = new Talk().open().push('vehicle', offer(ISO_2)).push('charger', choose(1));
    const told = await read(talk.push('vehicle', v2gtp(hex(payload))).push('charger', stopRes));
    expect(told.links[1]).toMatchObject({
      state: 'unreadable',
      from: 'vehicle',
      frame: 6,
      bytes: payload.length / 2,
    });
    expect(told.links[1]!.byte).toBeTypeOf('number');
    expect(protocols(told).at(-1)).toBe('iso15118-2 SessionStopRes');
  });

  it('are told before any handshake too', async () => {
    const told = await read(new Talk().open().push('vehicle', v2gtp(hex('80ff'))));
    expect(told.links[1]).toMatchObject({ state: 'unreadable', frame: 4 });
    expect(told.links[1]!.says).toContain('fits no known message set');
  });
});
