// Captures and packets made by hand, for tests: the layouts written down a second time, the other way round.
import { openCapture } from '../../src/wire/open.ts';
import type { CaptureSummary } from '../../src/wire/open.ts';
import type {
  LinkObservation,
  MessageObservation,
  NoteObservation,
} from '../../src/trace/observation.ts';
import type { Observation, TraceHeader } from '../../src/trace/observation.ts';

export function hex(text: string): Uint8Array {
  return Uint8Array.from(Buffer.from(text.replaceAll(/\s/g, ''), 'hex'));
}

export function join(...parts: Uint8Array[]): Uint8Array {
  return Uint8Array.from(Buffer.concat(parts));
}

/** `size` bytes of `value`, most significant first unless `big` is false. */
export function number(value: number | bigint, size: number, big = true): Uint8Array {
  const bytes = new Uint8Array(size);
  let rest = BigInt.asUintN(size * 8, BigInt(value));
  for (let index = 0; index < size; index++) {
    bytes[big ? size - 1 - index : index] = Number(rest & 0xffn);
    rest >>= 8n;
  }
  return bytes;
}

export const VEHICLE_MAC = hex('02005e100001');
export const CHARGER_MAC = hex('02005e200001');
export const VEHICLE_IP = hex('fe80000000000000 00005efffe100001');
export const CHARGER_IP = hex('fe80000000000000 00005efffe200001');
const VEHICLE_PORT = 50_001;
const CHARGER_PORT = 61_001;

export interface Timed {
  bytes: Uint8Array;
  time_ns: bigint;
  /** Length on the wire where the recorder cut the packet. */
  original?: number;
}

/** A time of 2026 and a millisecond between packets. */
export const START_NS = 1_767_225_600_000_000_000n;

export function timed(packets: Uint8Array[], step_ns = 1_000_000n): Timed[] {
  return packets.map((bytes, index) => ({ bytes, time_ns: START_NS + BigInt(index) * step_ns }));
}

export interface PcapSetting {
  big?: boolean;
  nano?: boolean;
  linkType?: number;
}

export function pcap(packets: Timed[], setting: PcapSetting = {}): Uint8Array {
  const { big = false, nano = false, linkType = 1 } = setting;
  const n = (value: number | bigint, size: number): Uint8Array => number(value, size, big);
  const unit = nano ? 1n : 1000n;
  const parts = [
    n(nano ? 0xa1b23c4d : 0xa1b2c3d4, 4),
    n(2, 2),
    n(4, 2),
    n(0, 8),
    n(262_144, 4),
    n(linkType, 4),
  ];
  for (const { bytes, time_ns, original } of packets) {
    parts.push(n(time_ns / 1_000_000_000n, 4), n((time_ns % 1_000_000_000n) / unit, 4));
    parts.push(n(bytes.length, 4), n(original ?? bytes.length, 4), bytes);
  }
  return Uint8Array.from(Buffer.concat(parts));
}

export function block(type: number, body: Uint8Array, big = false): Uint8Array {
  const padding = new Uint8Array((4 - (body.length % 4)) % 4);
  const length = 12 + body.length + padding.length;
  return join(number(type, 4, big), number(length, 4, big), body, padding, number(length, 4, big));
}

export function option(code: number, value: Uint8Array, big = false): Uint8Array {
  const padding = new Uint8Array((4 - (value.length % 4)) % 4);
  return join(number(code, 2, big), number(value.length, 2, big), value, padding);
}

export function section(big = false, major = 1): Uint8Array {
  const body = [number(0x1a2b3c4d, 4, big), number(major, 2, big), number(0, 2, big)];
  return block(0x0a0d0d0a, join(...body, number(-1n, 8, big)), big);
}

export interface InterfaceSetting {
  big?: boolean;
  linkType?: number;
  snapshotLength?: number;
  options?: Uint8Array;
}

export function interfaceBlock(setting: InterfaceSetting = {}): Uint8Array {
  const { big = false, linkType = 1, snapshotLength = 0, options = new Uint8Array(0) } = setting;
  const head = [number(linkType, 2, big), number(0, 2, big), number(snapshotLength, 4, big)];
  return block(1, join(...head, options), big);
}

export function enhanced(
  bytes: Uint8Array,
  units: bigint,
  setting: { big?: boolean; interfaceNumber?: number; original?: number } = {},
): Uint8Array {
  const { big = false, interfaceNumber = 0, original = bytes.length } = setting;
  const padding = new Uint8Array((4 - (bytes.length % 4)) % 4);
  const head = [
    number(interfaceNumber, 4, big),
    number(units >> 32n, 4, big),
    number(units & 0xffffffffn, 4, big),
    number(bytes.length, 4, big),
    number(original, 4, big),
  ];
  return block(6, join(...head, bytes, padding), big);
}

export function ethernet(
  etherType: number,
  payload: Uint8Array,
  sender = VEHICLE_MAC,
  receiver = CHARGER_MAC,
): Uint8Array {
  return join(receiver, sender, number(etherType, 2), payload);
}

export function ipv6(
  next: number,
  payload: Uint8Array,
  source = VEHICLE_IP,
  destination = CHARGER_IP,
): Uint8Array {
  const head = join(hex('60000000'), number(payload.length, 2), number(next, 1), hex('ff'));
  return join(head, source, destination, payload);
}

export function udp(sourcePort: number, destinationPort: number, data: Uint8Array): Uint8Array {
  return join(
    number(sourcePort, 2),
    number(destinationPort, 2),
    number(8 + data.length, 2),
    number(0, 2),
    data,
  );
}

export const FIN = 0x01;
export const SYN = 0x02;
export const RST = 0x04;
export const ACK = 0x10;

export interface TcpSetting {
  from?: 'vehicle' | 'charger';
  flags?: number;
  sequence?: number;
  acknowledgement?: number;
  vehiclePort?: number;
  chargerPort?: number;
  vehicleIp?: Uint8Array;
  chargerIp?: Uint8Array;
}

/** A whole Ethernet frame with one TCP segment. */
export function tcp(data: Uint8Array, setting: TcpSetting = {}): Uint8Array {
  const {
    from = 'vehicle',
    flags = ACK,
    sequence = 0,
    acknowledgement = 0,
    vehiclePort = VEHICLE_PORT,
    chargerPort = CHARGER_PORT,
    vehicleIp = VEHICLE_IP,
    chargerIp = CHARGER_IP,
  } = setting;
  const byVehicle = from === 'vehicle';
  const segment = join(
    number(byVehicle ? vehiclePort : chargerPort, 2),
    number(byVehicle ? chargerPort : vehiclePort, 2),
    number(sequence, 4),
    number(acknowledgement, 4),
    number(0x50, 1),
    number(flags, 1),
    hex('1000 0000 0000'),
    data,
  );
  const ends = byVehicle ? [vehicleIp, chargerIp] : [chargerIp, vehicleIp];
  const macs = byVehicle ? [VEHICLE_MAC, CHARGER_MAC] : [CHARGER_MAC, VEHICLE_MAC];
  return ethernet(0x86dd, ipv6(6, segment, ends[0], ends[1]), macs[0], macs[1]);
}

export function v2gtp(payload: Uint8Array, type = 0x8001): Uint8Array {
  return join(hex('01fe'), number(type, 2), number(payload.length, 4), payload);
}

/** A file in one chunk or in chunks of a size. */
export async function* chunked(
  bytes: Uint8Array,
  size = bytes.length || 1,
): AsyncGenerator<Uint8Array> {
  for (let at = 0; at < bytes.length; at += size) yield bytes.subarray(at, at + size);
}

export interface Read {
  header: TraceHeader;
  observations: Observation[];
  messages: MessageObservation[];
  links: LinkObservation[];
  notes: NoteObservation[];
  summary: CaptureSummary;
}

export async function readCapture(file: Uint8Array, chunkSize?: number): Promise<Read> {
  const capture = await openCapture(chunked(file, chunkSize), 'test.pcap');
  const observations: Observation[] = [];
  for await (const batch of capture.observations) observations.push(...batch);
  const ofKind = <K extends Observation['kind']>(kind: K): Extract<Observation, { kind: K }>[] =>
    observations.filter((each): each is Extract<Observation, { kind: K }> => each.kind === kind);
  return {
    header: capture.header,
    observations,
    messages: ofKind('message'),
    links: ofKind('link'),
    notes: ofKind('note'),
    summary: capture.summary(),
  };
}
