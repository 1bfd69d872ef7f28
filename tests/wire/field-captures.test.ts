// The field captures, against what their makers wrote down (tests/e2e/data/truth.json, made with tools that share
// no code with this reader) and frame by frame against tshark.
import { createReadStream, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { openCapture } from '../../src/wire/open.ts';
import { PcapReader, isPcap } from '../../src/wire/capture/pcap.ts';
import { PcapngReader } from '../../src/wire/capture/pcapng.ts';
import { newFrame, readFrame } from '../../src/wire/link/link-layer.ts';
import { newDatagram } from '../../src/wire/network/datagram.ts';
import { readIpv6 } from '../../src/wire/network/ip.ts';
import { ByteStream } from '../../src/wire/transport/byte-stream.ts';
import { SYN, newSegment, readSegment } from '../../src/wire/transport/tcp-header.ts';
import { runTool, toolSkipped } from '../support/tools.ts';
import type { MessageObservation, Observation, Side } from '../../src/trace/observation.ts';
import type { CaptureSummary } from '../../src/wire/open.ts';
import type { Packet } from '../../src/wire/capture/packet.ts';

interface Truth {
  system: string;
  protocol: string;
  frames: number;
  messages: [frame: number, from: Side, name: string][];
}

const truths = JSON.parse(readFileSync('tests/e2e/data/truth.json', 'utf8')) as Record<
  string,
  Truth
>;
const captures = Object.entries(truths).filter(([, { system }]) => system === 'C');
const pathOf = (file: string): string => `traces/field/${file}`;

async function readField(
  file: string,
): Promise<{ observations: Observation[]; summary: CaptureSummary; epoch: string }> {
  const capture = await openCapture(createReadStream(pathOf(file), { highWaterMark: 1000 }), file);
  const observations: Observation[] = [];
  for await (const batch of capture.observations) observations.push(...batch);
  return { observations, summary: capture.summary(), epoch: capture.header.epoch! };
}

const isMessage = (each: Observation): each is MessageObservation => each.kind === 'message';

describe('every field capture', () => {
  it('is there', () => {
    expect(captures).toHaveLength(14);
  });

  it.each(captures)('%s: each message with its frame, sender and name', async (file, truth) => {
    const { observations, summary } = await readField(file);
    const overTcp = observations.filter(isMessage).filter(({ link }) => link !== undefined);
    expect(overTcp.map(({ frame, from, name }) => [frame, from, name])).toEqual(truth.messages);
    expect(overTcp.slice(2).every(({ protocol }) => protocol === truth.protocol)).toBe(true);
    expect(overTcp.slice(0, 2).every(({ protocol }) => protocol === 'app-protocol')).toBe(true);
    expect(summary).toMatchObject({ frames: truth.frames, cutFrames: 0, links: 1, problems: [] });
    const others = observations.filter((each) => !isMessage(each));
    expect(others).toMatchObject([
      { state: 'opened', vehicleEnd: expect.stringContaining('fe10') as string },
      { state: 'closed' },
    ]);
    const frames = observations.map(({ frame }) => frame!);
    expect(frames).toEqual([...frames].sort((left, right) => left - right));
  });

  it.each(captures)('%s: tells no network key', async (file) => {
    const text = JSON.stringify((await readField(file)).observations).toLowerCase();
    const bytes = readFileSync(pathOf(file));
    // CM_SLAC_MATCH.CNF: body at 19 of the frame, key at 74 of the body.
    const head = bytes.indexOf(Buffer.from('88e1017d60', 'hex')) - 12;
    expect(head).toBeGreaterThan(0);
    const key = bytes.subarray(head + 19 + 74, head + 19 + 90);
    expect(new Set(key).size).toBeGreaterThan(8);
    expect(text.includes(key.toString('hex'))).toBe(false);
    expect(text.includes(key.toString('base64').toLowerCase())).toBe(false);
    expect(text.includes('"nmk":"withheld"')).toBe(true);
  });
});

/** Every capture's packets with the stream they give, the layers put together by hand. */
function streamsOf(file: string): {
  bytes: [string, string];
  repeated: number[];
  times_ns: number[];
} {
  const content = readFileSync(pathOf(file));
  const parts: [Buffer[], Buffer[]] = [[], []];
  const repeated: number[] = [];
  const times_ns: number[] = [];
  let news = 0;
  const sinkOf = (direction: 0 | 1): ConstructorParameters<typeof ByteStream>[0] => ({
    data: (bytes, start, end) => {
      parts[direction].push(Buffer.from(bytes.slice(start, end)));
      news += end - start;
    },
    gap: () => expect.unreachable('nothing is missing in these captures'),
    finished: () => undefined,
  });
  const streams = [new ByteStream(sinkOf(0)), new ByteStream(sinkOf(1))] as const;
  const [frame, datagram, segment] = [newFrame(), newDatagram(), newSegment()];
  const packet = (each: Packet): void => {
    times_ns.push(each.at_ns);
    if (!readFrame(each, frame) || frame.etherType !== 0x86dd) return;
    if (readIpv6(each.bytes, frame.payload, each.end, datagram) !== 'whole') return;
    if (datagram.protocol !== 6) return;
    readSegment(datagram.bytes, datagram.start, datagram.end, 0, segment);
    const stream = streams[segment.sourcePort < segment.destinationPort ? 0 : 1];
    if ((segment.flags & SYN) !== 0) stream.begin(segment.sequence + 1);
    if (segment.start === segment.end) return;
    news = 0;
    const { sequence, bytes, start, end } = segment;
    const held = stream.hasHole;
    stream.segment(sequence, bytes, start, end, each.frame, each.at_ns);
    if (news === 0 && stream.hasHole === held) repeated.push(each.frame);
  };
  const sink = { packet, problem: (): never => expect.unreachable('these captures are whole') };
  const reader = isPcap(content) ? new PcapReader(sink) : new PcapngReader(sink);
  reader.push(content);
  reader.end();
  const text = (direction: 0 | 1): string => Buffer.concat(parts[direction]).toString('hex');
  return { bytes: [text(0), text(1)], repeated, times_ns };
}

/** What tshark says of every frame, and the bytes of the connection both ways. */
interface Analysed {
  frames: Record<(typeof FIELDS)[number], string>[];
  streams: [string, string];
}

const FIELDS = [
  'frame.number',
  'frame.time_relative',
  'eth.src',
  'eth.dst',
  'homeplug_av.mmhdr.mmtype',
  'homeplug_av.gp.cm_slac_parm.runid',
  'homeplug_av.gp.cm_slac_match.runid',
  'tcp.srcport',
  'tcp.seq',
  'tcp.len',
  'tcp.analysis.retransmission',
  'tcp.analysis.spurious_retransmission',
] as const;

const analyses = new Map<string, Analysed>();

/** One run a file: starting tshark takes longer than its work. */
function analysed(file: string): Analysed {
  const known = analyses.get(file);
  if (known !== undefined) return known;
  const asked = FIELDS.flatMap((field) => ['-e', field]);
  const args = ['-r', pathOf(file), '-T', 'fields', ...asked, '-z', 'follow,tcp,raw,0'];
  const lines = runTool('tshark', args).split('\n');
  const frames = lines
    .filter((line) => line.split('\t').length === FIELDS.length)
    .map((line) => {
      const values = line.split('\t');
      return Object.fromEntries(FIELDS.map((field, index) => [field, values[index]!]));
    }) as Analysed['frames'];
  const follow = lines.filter((line) => /^\t?[0-9a-f]+$/.test(line));
  const stream = (tab: boolean): string =>
    follow
      .filter((line) => line.startsWith('\t') === tab)
      .join('')
      .replaceAll('\t', '');
  const result: Analysed = { frames, streams: [stream(false), stream(true)] };
  analyses.set(file, result);
  return result;
}

/** Whether, by tshark's numbers, no earlier frame held the first byte of this one. */
function fillsHole(frames: Analysed['frames'], index: number): boolean {
  const { 'tcp.srcport': port, 'tcp.seq': first } = frames[index]!;
  return !frames.slice(0, index).some((each) => {
    const start = Number(each['tcp.seq']);
    const inside = start <= Number(first) && Number(first) < start + Number(each['tcp.len']);
    return each['tcp.srcport'] === port && inside;
  });
}

const CODES: Record<string, string> = {
  'CM_SLAC_PARM.REQ': '0x6064',
  'CM_SLAC_PARM.CNF': '0x6065',
  'CM_START_ATTEN_CHAR.IND': '0x606a',
  'CM_MNBC_SOUND.IND': '0x6076',
  'CM_ATTEN_CHAR.IND': '0x606e',
  'CM_ATTEN_CHAR.RSP': '0x606f',
  'CM_SLAC_MATCH.REQ': '0x607c',
  'CM_SLAC_MATCH.CNF': '0x607d',
};

describe('against tshark', () => {
  const withoutTshark = toolSkipped('tshark', 'field captures frame by frame');
  const withoutEditcap = toolSkipped('editcap', 'formats written by another tool');

  it.skipIf(withoutTshark).each(captures)(
    '%s: SLAC types, addresses and run identifiers',
    async (file) => {
      const theirs = analysed(file).frames.filter(
        (frame) => frame['homeplug_av.mmhdr.mmtype'] !== '',
      );
      const { observations } = await readField(file);
      const ours = observations.filter(isMessage).filter(({ protocol }) => protocol === 'slac');
      expect(
        ours.map(({ frame, name, sender, receiver }) => [
          String(frame),
          CODES[name],
          sender,
          receiver,
        ]),
      ).toEqual(
        theirs.map((frame) => [
          frame['frame.number'],
          frame['homeplug_av.mmhdr.mmtype'],
          frame['eth.src'],
          frame['eth.dst'],
        ]),
      );
      const runIds = theirs.map(
        (frame) =>
          frame['homeplug_av.gp.cm_slac_parm.runid'] + frame['homeplug_av.gp.cm_slac_match.runid'],
      );
      expect(runIds.filter((id) => id !== '').length).toBeGreaterThanOrEqual(4);
      runIds.forEach((id, index) => {
        const told = ours[index]!.message['RunID'];
        if (id !== '') expect(told).toBe(id.replaceAll(':', '').toUpperCase());
      });
    },
  );

  it.skipIf(withoutTshark).each(captures)(
    '%s: the bytes of both streams, repeated segments, times',
    (file) => {
      const { bytes, repeated, times_ns } = streamsOf(file);
      const { frames, streams } = analysed(file);
      expect(bytes).toEqual(streams);
      // Some that tshark calls retransmissions fill a hole, late: those bring bytes no frame before had.
      const theirs = frames.flatMap((frame, index) => {
        const flags =
          frame['tcp.analysis.retransmission'] + frame['tcp.analysis.spurious_retransmission'];
        const again = flags !== '' && Number(frame['tcp.len']) > 0 && !fillsHole(frames, index);
        return again ? [index + 1] : [];
      });
      expect(repeated).toEqual(theirs);
      expect(times_ns.map((time_ns) => (time_ns / 1e9).toFixed(9))).toEqual(
        frames.map((frame) => frame['frame.time_relative']),
      );
    },
  );

  it.skipIf(withoutEditcap)('reads what its converter wrote in other formats', async () => {
    const whole = await readField('iso2-clean.pcap');
    const folder = mkdtempSync(join(tmpdir(), 'handfast-formats-'));
    for (const format of ['nsecpcap', 'pcapng', 'pcap']) {
      const path = join(folder, format);
      runTool('editcap', ['-F', format, pathOf('iso2-clean.pcap'), path]);
      const capture = await openCapture(createReadStream(path), 'converted');
      const observations: Observation[] = [];
      for await (const batch of capture.observations) observations.push(...batch);
      expect(observations).toEqual(whole.observations);
      expect(capture.header.epoch).toBe(whole.epoch);
    }
    rmSync(folder, { recursive: true });
  });
});
