// Connections from their packets: opened, joined, closed, broken, reused, encrypted, with bytes missing.
// Facts: RFC 9293 section 3.5 and 3.6 (opening and closing), RFC 8446 section 5.1 (TLS records).
import { describe, expect, it } from 'vitest';
import {
  ACK,
  CHARGER_IP,
  CHARGER_MAC,
  FIN,
  RST,
  SYN,
  VEHICLE_IP,
  VEHICLE_MAC,
  ethernet,
  hex,
  ipv6,
  join,
  number,
  pcap,
  readCapture,
  tcp,
  timed,
  udp,
  v2gtp,
} from './build.ts';
import {
  DIN,
  ISO_2,
  Talk,
  choose,
  offer,
  setupReq,
  stopReq,
  stopRes,
  wholeTalk,
} from './session.ts';
import type { Read } from './build.ts';

const read = (packets: Uint8Array[], step_ns?: bigint): Promise<Read> =>
  readCapture(pcap(timed(packets, step_ns)));
const states = ({ links }: Read): string[] => links.map(({ link, state }) => `${link} ${state}`);
const names = ({ messages }: Read): string[] => messages.map(({ from, name }) => `${from} ${name}`);

const SESSION = [
  'vehicle supportedAppProtocolReq',
  'charger supportedAppProtocolRes',
  'vehicle SessionStopReq',
  'charger SessionStopRes',
];
const GLOBAL = {
  vehicleIp: hex('20010db8000000000000000000000001'),
  chargerIp: hex('20010db8000000000000000000000002'),
};

describe('a connection', () => {
  it('is opened, speaks and is closed', async () => {
    const told = await read(wholeTalk().packets);
    expect(names(told)).toEqual(SESSION);
    expect(told.links).toMatchObject([
      {
        state: 'opened',
        frame: 1,
        link: 'tcp:1',
        vehicleAddress: '02:00:5e:10:00:01',
        chargerAddress: '02:00:5e:20:00:01',
        vehicleEnd: '[fe80::5eff:fe10:1]:50001',
        chargerEnd: '[fe80::5eff:fe20:1]:61001',
      },
      { state: 'closed', from: 'vehicle', frame: 8 },
    ]);
    expect(told.messages[2]).toMatchObject({
      protocol: 'iso15118-2',
      header: { SessionID: '0102030405060708' },
      message: { ChargingSession: 'Terminate' },
      sender: '02:00:5e:10:00:01',
      receiver: '02:00:5e:20:00:01',
      link: 'tcp:1',
      frame: 6,
    });
    expect(told.notes).toEqual([]);
  });

  it('is joined where its opening was not recorded, and each side found by what it says', async () => {
    const told = await read(wholeTalk().packets.slice(5));
    expect(names(told)).toEqual(SESSION.slice(2));
    expect(told.links[0]).toMatchObject({
      state: 'joined',
      frame: 1,
      vehicleEnd: '[fe80::5eff:fe10:1]:50001',
    });
    expect(told.notes).toMatchObject([{ says: expect.stringContaining('no handshake') as string }]);
  });

  it('is joined inside a message, whose rest is told as unreadable', async () => {
    const talk = new Talk().push('charger', stopRes.slice(5)).push('vehicle', stopReq);
    const told = await read(talk.packets);
    expect(states(told)).toEqual(['tcp:1 joined', 'tcp:1 unreadable']);
    expect(told.links[1]).toMatchObject({ bytes: stopRes.length - 5 });
    expect(names(told)).toEqual(['vehicle SessionStopReq']);
  });

  it('is opened by the answer where the SYN itself was not recorded', async () => {
    const told = await read(wholeTalk().packets.slice(1));
    expect(states(told)).toEqual(['tcp:1 opened', 'tcp:1 closed']);
    expect(names(told)).toEqual(SESSION);
  });

  it('is told once, as joined, when its opening was recorded behind its first data', async () => {
    const { packets } = wholeTalk();
    const told = await read([packets[3]!, packets[1]!, ...packets.slice(4)]);
    expect(states(told)).toEqual(['tcp:1 joined', 'tcp:1 closed']);
    expect(names(told)).toEqual(SESSION);
  });

  it('finds the charger by the port that discovery told', async () => {
    const port = number(61_001, 2);
    const response = v2gtp(join(GLOBAL.chargerIp, port, hex('1000')), 0x9001);
    const discovery = ethernet(
      0x86dd,
      ipv6(17, udp(15_118, 50_000, response), CHARGER_IP, VEHICLE_IP),
      CHARGER_MAC,
      VEHICLE_MAC,
    );
    const lost = new Talk(GLOBAL).push('charger', hex('00112233')).push('charger', stopRes);
    const told = await read([discovery, ...lost.packets]);
    expect(told.links).toMatchObject([
      { state: 'joined', chargerEnd: '[2001:db8::2]:61001' },
      { state: 'unreadable', from: 'charger' },
    ]);
  });

  it('with other addresses stays silent until it speaks V2GTP', async () => {
    const other = new Talk(GLOBAL).open();
    for (let index = 0; index < 70; index++) other.push('vehicle', hex('474554202f'));
    expect((await read([...other.close().packets])).observations).toEqual([]);
    const told = await read(wholeTalk(GLOBAL).packets);
    expect(states(told)).toEqual(['tcp:1 opened', 'tcp:1 closed']);
    expect(names(told)).toEqual(SESSION);
    const late = new Talk(GLOBAL).open().push('vehicle', hex('00')).push('vehicle', offer(ISO_2));
    expect(states(await read(late.packets))).toEqual(['tcp:1 joined']);
  });

  it('is encrypted when it begins with TLS, and nothing more of it is read', async () => {
    const hello = hex('16 03 01 0005 0100000100');
    const talk = new Talk().open().push('vehicle', hello).push('charger', hello);
    const told = await read(talk.push('vehicle', stopReq).close().packets);
    expect(states(told)).toEqual(['tcp:1 opened', 'tcp:1 encrypted', 'tcp:1 closed']);
    expect(told.links[1]!.says).toBe('not observed: encrypted (TLS)');
    expect(told.messages).toEqual([]);
  });

  it('is joined inside TLS', async () => {
    const told = await read(new Talk().push('charger', hex('17 03 03 0010 aabb')).packets);
    expect(states(told)).toEqual(['tcp:1 joined', 'tcp:1 encrypted']);
  });
});

describe('the end of a connection', () => {
  it('is a reset by whoever sent it', async () => {
    const talk = new Talk().open().push('charger', new Uint8Array(0), RST | ACK);
    const told = await read(talk.push('vehicle', stopReq).packets);
    expect(told.links).toMatchObject([
      { state: 'opened' },
      { state: 'reset', from: 'charger', frame: 4 },
    ]);
    expect(told.messages).toEqual([]);
  });

  it('tells a message that it cut', async () => {
    const talk = new Talk().open().push('vehicle', offer(ISO_2).slice(0, 20)).close();
    const told = await read(talk.packets);
    expect(states(told)).toEqual(['tcp:1 opened', 'tcp:1 unreadable', 'tcp:1 closed']);
    expect(told.links[1]).toMatchObject({ from: 'vehicle', bytes: 20, frame: 5 });
  });

  it('tells a header that the end of the capture cut', async () => {
    const told = await read(new Talk().open().push('vehicle', hex('01fe80')).packets);
    expect(told.links[1]).toMatchObject({ state: 'unreadable', bytes: 3 });
  });

  it('makes room for the next on the same ports, even with the same numbers', async () => {
    const { packets } = wholeTalk();
    const told = await read([...packets, ...packets]);
    expect(states(told)).toEqual(['tcp:1 opened', 'tcp:1 closed', 'tcp:2 opened', 'tcp:2 closed']);
    expect(names(told)).toEqual([...SESSION, ...SESSION]);
  });

  it('is not needed for the next on the same ports', async () => {
    const cut = wholeTalk().packets.slice(0, 7);
    const next = tcp(new Uint8Array(0), { flags: SYN, sequence: 77_777 });
    expect(states(await read([...cut, next]))).toEqual(['tcp:1 opened', 'tcp:2 opened']);
  });

  it('is not seen in a SYN or a whole capture that comes twice', async () => {
    const { packets } = wholeTalk();
    const twice = packets.flatMap((packet) => [packet, packet]);
    const told = await read(twice);
    expect(states(told)).toEqual(['tcp:1 opened', 'tcp:1 closed']);
    expect(names(told)).toEqual(SESSION);
  });

  it('does not make a stray FIN, RST or acknowledgement a connection', async () => {
    const stray = [FIN | ACK, RST, ACK].map((flags) => tcp(new Uint8Array(0), { flags }));
    expect((await read(stray)).observations).toEqual([]);
  });
});

const withLoss = (): Talk =>
  new Talk()
    .open()
    .push('vehicle', offer(DIN, ISO_2))
    .push('charger', choose(2))
    .lose('vehicle', setupReq)
    .push('vehicle', stopReq)
    .push('charger', stopRes)
    .close();

describe('bytes that are missing', () => {
  it('are a gap with its length and side, told before what comes behind it', async () => {
    const told = await read(withLoss().packets);
    expect(told.observations.map(({ kind, frame }) => [kind, frame])).toEqual([
      ['link', 1],
      ['message', 4],
      ['message', 5],
      ['link', 6],
      ['message', 6],
      ['message', 7],
      ['link', 8],
    ]);
    expect(told.links[1]).toMatchObject({ state: 'gap', from: 'vehicle', bytes: setupReq.length });
  });

  it('are no gap when they come late: the message has the frame that completes it', async () => {
    const talk = new Talk().open().push('vehicle', offer(ISO_2)).push('charger', choose(1));
    const [first, second] = [stopReq.slice(0, 10), stopReq.slice(10)].map((part) =>
      talk.segment('vehicle', part),
    );
    const told = await read([...talk.packets, second!, talk.segment('charger', stopRes), first!]);
    expect(told.links.map(({ state }) => state)).toEqual(['opened']);
    expect(told.messages.map(({ name, frame }) => [name, frame]).slice(2)).toEqual([
      ['SessionStopRes', 7],
      ['SessionStopReq', 8],
    ]);
  });

  it('inside a message cost that message alone', async () => {
    const talk = new Talk().open().push('vehicle', offer(ISO_2)).push('charger', choose(1));
    talk.push('vehicle', setupReq.slice(0, 9)).lose('vehicle', setupReq.slice(9, 13));
    talk.push('vehicle', join(setupReq.slice(13), stopReq)).push('charger', stopRes);
    const told = await read(talk.packets);
    expect(told.links.slice(1)).toMatchObject([
      { state: 'gap', bytes: 4, from: 'vehicle' },
      { state: 'unreadable', bytes: 9 },
    ]);
    expect(names(told).slice(2)).toEqual(['vehicle SessionStopReq', 'charger SessionStopRes']);
  });

  it('that take a message’s end with them are skipped up to the next header', async () => {
    const talk = new Talk().open().push('vehicle', offer(ISO_2)).push('charger', choose(1));
    const stream = join(setupReq, setupReq, stopReq);
    talk.push('vehicle', stream.slice(0, 9));
    talk.lose('vehicle', stream.slice(9, setupReq.length + 12));
    talk.push('vehicle', stream.slice(setupReq.length + 12));
    const told = await read(talk.packets);
    expect(told.links.slice(1)).toMatchObject([
      { state: 'gap', bytes: setupReq.length + 3 },
      { state: 'unreadable', bytes: 9 },
      { state: 'unreadable', bytes: setupReq.length - 12 },
    ]);
    expect(names(told).at(-1)).toBe('vehicle SessionStopReq');
  });

  it('at the end are known from the peer’s acknowledgement', async () => {
    const talk = new Talk().open().push('vehicle', offer(ISO_2)).lose('charger', choose(1));
    const told = await read(talk.push('vehicle', new Uint8Array(0)).packets);
    expect(told.links[1]).toMatchObject({ state: 'gap', from: 'charger', bytes: choose(1).length });
  });

  it('are given up when the peer has them and no retransmission can come', async () => {
    const packets = withLoss().packets.slice(0, 7);
    const later = tcp(new Uint8Array(0), { from: 'charger', acknowledgement: 1000 });
    const told = await read([...packets, later, later, later], 150_000_000n);
    expect(states(told)).toEqual(['tcp:1 opened', 'tcp:1 gap']);
    expect(names(told)).toEqual(SESSION);
  });

  it('because the recorder cut a packet are a gap too', async () => {
    const { packets } = wholeTalk();
    const capture = timed(packets);
    const whole = capture[5]!;
    capture[5] = { ...whole, bytes: whole.bytes.slice(0, -6), original: whole.bytes.length };
    const told = await readCapture(pcap(capture));
    expect(told.links.map(({ state }) => state)).toEqual(['opened', 'gap', 'unreadable', 'closed']);
    expect(told.links[1]).toMatchObject({ bytes: 6, from: 'vehicle' });
    expect(told.summary.cutFrames).toBe(1);
  });
});

describe('packets that are wrong', () => {
  it.each([
    ['a TCP header that is cut', ethernet(0x86dd, ipv6(6, hex('c351ee49 00000000')))],
    [
      'a TCP header shorter than itself',
      ethernet(0x86dd, ipv6(6, join(new Uint8Array(12), hex('10'), new Uint8Array(7)))),
    ],
    [
      'a TCP header longer than its packet',
      ethernet(0x86dd, ipv6(6, join(new Uint8Array(12), hex('f0'), new Uint8Array(7)))),
    ],
  ])('are told: %s', async (_, packet) => {
    const { notes } = await read([packet]);
    expect(notes).toMatchObject([{ problem: 'damaged', frame: 1 }]);
  });

  it('of ever new connections do not fill the memory', async () => {
    const packets = Array.from({ length: 9000 }, (_, index) =>
      tcp(new Uint8Array(0), { flags: SYN, vehiclePort: 1024 + index }),
    );
    const { summary } = await read(packets);
    expect(summary.links).toBe(9000);
    expect(summary.problems).toMatchObject([{ problem: 'unsupported', count: 9000 - 8192 }]);
  });
});
