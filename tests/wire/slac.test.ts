// SLAC messages. Layouts and codes: ISO 15118-3:2015 Annex A and the HomePlug Green PHY specification, `from memory`;
// the worked frame and the length sums are `derived` from them.
import { describe, expect, it } from 'vitest';
import { InputError } from '../../src/trace/input-error.ts';
import {
  attenuationClass,
  averageAttenuation_dB,
  groupAverages_dB,
} from '../../src/wire/slac/attenuation.ts';
import { decodeSlac } from '../../src/wire/slac/decode.ts';
import { LAYOUTS } from '../../src/wire/slac/layouts.ts';
import {
  CHARGER_MAC,
  VEHICLE_MAC,
  ethernet,
  hex,
  join,
  number,
  pcap,
  readCapture,
  timed,
} from './build.ts';
import type { JsonObject } from '../../src/trace/observation.ts';

const RUN_ID = '0102030405060708';
const zeros = (count: number): string => '00'.repeat(count);
const management = (type: number, body: string, fmi = '0000'): Uint8Array =>
  join(hex('01'), number(type, 2, false), hex(fmi), hex(body));
const decoded = (type: number, body: string): JsonObject | undefined => {
  const bytes = management(type, body);
  return decodeSlac(bytes, 0, bytes.length)?.message;
};

const EV = '020000000001';
const EVSE = '020000000002';
const evText = '02:00:00:00:00:01';
const profile = '0d'.repeat(58);

describe('SLAC messages', () => {
  it('reads the worked frame, padded to the 60 bytes of the shortest Ethernet frame', async () => {
    const frame = hex(`FFFFFFFFFFFF 020000000001 88E1 01 6460 0000 00 00 ${RUN_ID} ${zeros(31)}`);
    expect(frame).toHaveLength(60);
    const { messages } = await readCapture(pcap(timed([frame])));
    expect(messages).toEqual([
      {
        kind: 'message',
        at_ns: 0,
        frame: 1,
        from: 'vehicle',
        name: 'CM_SLAC_PARM.REQ',
        message: { APPLICATION_TYPE: 0, SECURITY_TYPE: 0, RunID: RUN_ID },
        protocol: 'slac',
        sender: evText,
        receiver: 'ff:ff:ff:ff:ff:ff',
      },
    ]);
  });

  it.each<[string, number, number, string, JsonObject]>([
    [
      'CM_SLAC_PARM.CNF',
      0x6065,
      25,
      `ffffffffffff 0a 06 01 ${EV} 00 00 ${RUN_ID}`,
      {
        'M-SOUND_TARGET': 'ff:ff:ff:ff:ff:ff',
        NUM_SOUNDS: 10,
        TIME_OUT: 6,
        FORWARDING_STA: evText,
      },
    ],
    [
      'CM_START_ATTEN_CHAR.IND',
      0x606a,
      19,
      `00 00 0a 06 01 ${EV} ${RUN_ID}`,
      { NUM_SOUNDS: 10, RESP_TYPE: 1, RunID: RUN_ID },
    ],
    [
      'CM_MNBC_SOUND.IND',
      0x6076,
      52,
      `00 00 ${zeros(17)} 09 ${RUN_ID} ${zeros(8)} ${'ab'.repeat(16)}`,
      { Cnt: 9, RunID: RUN_ID, Rnd: 'AB'.repeat(16) },
    ],
    [
      'CM_ATTEN_PROFILE.IND',
      0x6086,
      66,
      `${EV} 3a 00 ${profile}`,
      { EV_MAC: evText, NumGroups: 58 },
    ],
    [
      'CM_ATTEN_CHAR.IND',
      0x606e,
      110,
      `00 00 ${EV} ${RUN_ID} ${zeros(34)} 0a 3a ${profile}`,
      { SOURCE_ADDRESS: evText, NumSounds: 10, AAG: Array.from({ length: 58 }, () => 13) },
    ],
    ['CM_ATTEN_CHAR.RSP', 0x606f, 51, `00 00 ${EV} ${RUN_ID} ${zeros(34)} 00`, { Result: 0 }],
    ['CM_VALIDATE.REQ', 0x6078, 3, '00 13 01', { SignalType: 0, Timer: 19, Result: 1 }],
    ['CM_VALIDATE.CNF', 0x6079, 3, '00 02 02', { SignalType: 0, ToggleNum: 2, Result: 2 }],
    [
      'CM_SLAC_MATCH.REQ',
      0x607c,
      66,
      `00 00 3e00 ${zeros(17)} ${EV} ${zeros(17)} ${EVSE} ${RUN_ID} ${zeros(8)}`,
      { MVFLength: 0x3e, EV_MAC: evText, EVSE_MAC: '02:00:00:00:00:02', RunID: RUN_ID },
    ],
    [
      'CM_SLAC_MATCH.CNF',
      0x607d,
      90,
      `00 00 5600 ${zeros(17)} ${EV} ${zeros(17)} ${EVSE} ${RUN_ID} ${zeros(8)} ${'c1'.repeat(7)} 00 ${'d2'.repeat(16)}`,
      { MVFLength: 0x56, NID: 'withheld', NMK: 'withheld' },
    ],
    [
      'CM_SET_KEY.REQ',
      0x6008,
      38,
      `01 aaaaaaaa 00000000 04 0100 02 00 ${'c1'.repeat(7)} 01 ${'d2'.repeat(16)}`,
      {
        KeyType: 1,
        MyNonce: 'AAAAAAAA',
        PID: 4,
        PRN: 1,
        NewEKS: 1,
        NID: 'withheld',
        NewKey: 'withheld',
      },
    ],
    ['CM_SET_KEY.CNF', 0x6009, 14, '00 00000000 aaaaaaaa 04 0100 02 00', { Result: 0, PMN: 2 }],
    ['CM_AMP_MAP.REQ', 0x601c, 4, '0300 2104', { AMLEN: 3, AMDATA: '2104' }],
    ['CM_AMP_MAP.CNF', 0x601d, 1, '00', { ResType: 0 }],
  ])('reads %s', (name, type, size, body, fields) => {
    expect(hex(body)).toHaveLength(size);
    expect(LAYOUTS.get(type)!.name).toBe(name);
    expect(decoded(type, body)).toMatchObject(fields);
    // Every body is one byte too long to be read from one byte less.
    expect(() => decoded(type, body.trimEnd().slice(0, -2))).toThrow(InputError);
  });

  it('reads cipher suites where SECURITY_TYPE asks for them', () => {
    expect(decoded(0x6064, `00 01 ${RUN_ID} 02 0100 0302`)).toMatchObject({
      CipherSuites: [1, 0x203],
    });
    expect(() => decoded(0x6064, `00 01 ${RUN_ID} 02 0100`)).toThrow(/ends inside CipherSuites/);
    expect(() => decoded(0x6064, `00 01 ${RUN_ID}`)).toThrow(/ends inside CipherSuites/);
  });

  it('tells no key and nothing made of one, whatever the frame', async () => {
    const match = `00 00 5600 ${zeros(17)} ${EV} ${zeros(17)} ${EVSE} ${RUN_ID} ${zeros(8)}`;
    const keys = `${'c1'.repeat(7)} 00 ${'d2'.repeat(16)}`;
    const frames = [
      ethernet(0x88e1, management(0x607d, `${match} ${keys}`), CHARGER_MAC, VEHICLE_MAC),
      ethernet(
        0x88e1,
        management(0x6008, `01 ${zeros(13)} ${'c1'.repeat(7)} 01 ${'d2'.repeat(16)}`),
      ),
      ethernet(
        0x88e1,
        management(0x607d, `${match} ${keys}`.slice(0, -4)),
        CHARGER_MAC,
        VEHICLE_MAC,
      ),
    ];
    const { observations } = await readCapture(pcap(timed(frames)));
    expect(observations.length).toBeGreaterThanOrEqual(3);
    expect(JSON.stringify(observations).toLowerCase()).not.toMatch(/c1c1|d2d2/);
  });

  it('knows the sender of a message that either side may send by its address', async () => {
    const map = management(0x601c, '0200 21');
    const frames = [
      ethernet(0x88e1, map, CHARGER_MAC, VEHICLE_MAC),
      ethernet(0x88e1, management(0x6064, `00 00 ${RUN_ID}`), VEHICLE_MAC),
      ethernet(0x88e1, map, CHARGER_MAC, VEHICLE_MAC),
      ethernet(0x88e1, map, VEHICLE_MAC, CHARGER_MAC),
    ];
    const { messages, notes } = await readCapture(pcap(timed(frames)));
    expect(messages.map(({ from }) => from)).toEqual(['vehicle', 'charger', 'vehicle']);
    expect(notes).toMatchObject([{ frame: 1, problem: 'unsupported' }]);
  });
});

describe('management frames that are no matching message', () => {
  it.each([
    ['a vendor message', hex('00 00a0 00b052')],
    ['another message of the network', management(0x6034, '00')],
    [
      'a matching code in the older version',
      join(hex('00'), number(0x6064, 2, false), hex(zeros(10))),
    ],
  ])('passes over %s', (_, bytes) => {
    expect(decodeSlac(bytes, 0, bytes.length)).toBeNull();
  });

  it.each([
    ['nothing', hex(''), /inside its header/],
    [
      'a type without fragmentation bytes',
      hex('01 6460 00'),
      /CM_SLAC_PARM.REQ ends inside its header/,
    ],
    ['a fragment', management(0x6064, `00 00 ${RUN_ID}`, '1200'), /fragments/],
    [
      'fewer attenuations than its groups',
      management(0x6086, `${EV} ff 00 ${profile}`),
      /inside AAG/,
    ],
    ['fewer carriers than its length', management(0x601c, 'ffff 21'), /inside AMDATA/],
  ])('refuses %s', (_, bytes, message) => {
    expect(() => decodeSlac(bytes, 0, bytes.length)).toThrow(InputError);
    expect(() => decodeSlac(bytes, 0, bytes.length)).toThrow(message);
  });

  it('tells a frame that the recorder cut as cut, one that is short as damaged', async () => {
    const short = ethernet(0x88e1, management(0x6064, '00 00'));
    const [first, second] = timed([short, short]);
    const { notes } = await readCapture(pcap([first!, { ...second!, original: 60 }]));
    expect(notes).toMatchObject([
      {
        problem: 'damaged',
        frame: 1,
        says: 'CM_SLAC_PARM.REQ ends inside RunID, at byte 21 of the packet',
      },
      { problem: 'cut', frame: 2 },
      { problem: 'cut', frame: 2 },
    ]);
  });
});

describe('attenuation', () => {
  it('averages a group over its sounds: 12, 14 and 13 dB are 13 dB', () => {
    expect(groupAverages_dB([[12], [14], [13]])).toEqual([13]);
  });

  it('makes 58 groups of 13 dB a charger that is potentially found', () => {
    const average = averageAttenuation_dB(Array.from({ length: 58 }, () => 13));
    expect(average).toBe(13);
    expect(attenuationClass(average)).toBe('potentially found');
  });

  it.each([
    [10, 'found'],
    [10.01, 'potentially found'],
    [20, 'potentially found'],
    [20.01, 'not found'],
  ])('classes %d dB as %s', (average, name) => {
    expect(attenuationClass(average)).toBe(name);
  });

  it('refuses what has no average', () => {
    expect(() => groupAverages_dB([])).toThrow(RangeError);
    expect(() => groupAverages_dB([[1, 2], [1]])).toThrow(RangeError);
    expect(() => averageAttenuation_dB([])).toThrow(RangeError);
  });
});
