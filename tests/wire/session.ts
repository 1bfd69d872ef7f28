// A charging connection made by hand: its messages as EXI, its packets in order.
import { encodeExi } from '../../src/wire/exi/codec.ts';
import { ACK, FIN, SYN, tcp, v2gtp } from './build.ts';
import type { JsonObject } from '../../src/trace/observation.ts';
import type { TcpSetting } from './build.ts';

export const DIN = 'urn:din:70121:2012:MsgDef';
export const ISO_2 = 'urn:iso:15118:2:2013:MsgDef';
export const ISO_20 = 'urn:iso:std:iso:15118:-20:DC';

export function offer(...namespaces: string[]): Uint8Array {
  const AppProtocol = namespaces.map((ProtocolNamespace, index) => ({
    ProtocolNamespace,
    VersionNumberMajor: 2,
    VersionNumberMinor: 0,
    SchemaID: index + 1,
    Priority: index + 1,
  }));
  return v2gtp(encodeExi('app-protocol', { supportedAppProtocolReq: { AppProtocol } }));
}

export function choose(schema: number | null, code = 'OK_SuccessfulNegotiation'): Uint8Array {
  const content: JsonObject = { ResponseCode: code };
  if (schema !== null) content['SchemaID'] = schema;
  return v2gtp(encodeExi('app-protocol', { supportedAppProtocolRes: content }));
}

export function din(name: string, content: JsonObject): Uint8Array {
  const message = { Header: { SessionID: '0102030405060708' }, Body: { [name]: content } };
  return v2gtp(encodeExi('din70121', message));
}

export function iso2(name: string, content: JsonObject): Uint8Array {
  const message = { Header: { SessionID: '0102030405060708' }, Body: { [name]: content } };
  return v2gtp(encodeExi('iso15118-2', message));
}

export const stopReq = iso2('SessionStopReq', { ChargingSession: 'Terminate' });
export const stopRes = iso2('SessionStopRes', { ResponseCode: 'OK' });
export const setupReq = iso2('SessionSetupReq', { EVCCID: '020000000001' });

/** Builds the packets of one connection, keeping count of both sides' numbers. */
export class Talk {
  packets: Uint8Array[] = [];
  #next = { vehicle: 1000, charger: 0xffffff00 };
  #setting: TcpSetting;

  constructor(setting: TcpSetting = {}) {
    this.#setting = setting;
  }

  open(): this {
    this.push('vehicle', new Uint8Array(0), SYN);
    this.push('charger', new Uint8Array(0), SYN | ACK);
    return this.push('vehicle', new Uint8Array(0));
  }

  push(from: 'vehicle' | 'charger', data: Uint8Array, flags = ACK): this {
    this.packets.push(this.segment(from, data, flags));
    return this;
  }

  /** Counts the bytes as sent without a packet in the capture. */
  lose(from: 'vehicle' | 'charger', data: Uint8Array): this {
    this.segment(from, data);
    return this;
  }

  close(): this {
    this.push('vehicle', new Uint8Array(0), FIN | ACK);
    this.push('charger', new Uint8Array(0), FIN | ACK);
    return this.push('vehicle', new Uint8Array(0));
  }

  segment(from: 'vehicle' | 'charger', data: Uint8Array, flags = ACK): Uint8Array {
    const peer = from === 'vehicle' ? 'charger' : 'vehicle';
    const sequence = this.#next[from] >>> 0;
    const numbers = (flags & (SYN | FIN)) === 0 ? 0 : 1;
    this.#next[from] = (sequence + data.length + numbers) >>> 0;
    const acknowledgement = flags === SYN ? 0 : this.#next[peer];
    return tcp(data, { ...this.#setting, from, flags, sequence, acknowledgement });
  }
}

/** A whole ISO 15118-2 connection with a handshake and one pair of messages. */
export function wholeTalk(setting: TcpSetting = {}): Talk {
  return new Talk(setting)
    .open()
    .push('vehicle', offer(DIN, ISO_2))
    .push('charger', choose(2))
    .push('vehicle', stopReq)
    .push('charger', stopRes)
    .close();
}
