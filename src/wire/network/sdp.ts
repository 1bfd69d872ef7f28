// SECC discovery: where the charger tells the vehicle its address and port (ISO 15118-2:2014 clause 7.10.1,
// DIN SPEC 70121:2014; values `from memory`).
import { addressText, u16be } from '../bytes.ts';
import { InputError } from '../../trace/input-error.ts';
import {
  PAYLOAD_SDP_REQUEST,
  PAYLOAD_SDP_RESPONSE,
  V2GTP_HEADER_BYTES,
  headerFault,
  payloadLength,
  payloadType,
  payloadTypeName,
} from '../v2gtp/header.ts';
import type { JsonObject, Side } from '../../trace/observation.ts';

export const SDP_PORT = 15_118;

const REQUEST_BYTES = 2;
const RESPONSE_BYTES = 20;

export interface SdpMessage {
  name: 'SECCDiscoveryReq' | 'SECCDiscoveryRes';
  from: Side;
  message: JsonObject;
}

/**
 * Decodes the UDP payload `bytes[start..end)`.
 * @throws InputError with `place.byte` counted from `start`.
 */
export function decodeSdp(bytes: Uint8Array, start: number, end: number): SdpMessage {
  if (end - start < V2GTP_HEADER_BYTES) {
    throw new InputError('SDP ends inside its V2GTP header', { byte: end - start }, '');
  }
  const fault = headerFault(bytes, start);
  if (fault !== null) throw new InputError(`SDP: ${fault.says}`, { byte: fault.byte }, '');
  const type = payloadType(bytes, start);
  if (type !== PAYLOAD_SDP_REQUEST && type !== PAYLOAD_SDP_RESPONSE) {
    const what = `SDP: payload type ${payloadTypeName(type)} is not known`;
    throw new InputError(what, { byte: 2 }, '');
  }
  const wanted = type === PAYLOAD_SDP_REQUEST ? REQUEST_BYTES : RESPONSE_BYTES;
  const length = payloadLength(bytes, start);
  if (length !== wanted || end - start - V2GTP_HEADER_BYTES !== wanted) {
    const there = end - start - V2GTP_HEADER_BYTES;
    const what = `SDP: ${wanted} bytes were expected, the header says ${length} and ${there} are there`;
    throw new InputError(what, { byte: 4 }, '');
  }
  const at = start + V2GTP_HEADER_BYTES;
  if (type === PAYLOAD_SDP_REQUEST) {
    return { name: 'SECCDiscoveryReq', from: 'vehicle', message: wishes(bytes, at) };
  }
  const message = {
    address: addressText(bytes, at, 16),
    port: u16be(bytes, at + 16),
    ...wishes(bytes, at + 18),
  };
  return { name: 'SECCDiscoveryRes', from: 'charger', message };
}

function wishes(bytes: Uint8Array, at: number): JsonObject {
  return { security: securityText(bytes[at]!), transport: transportText(bytes[at + 1]!) };
}

function securityText(code: number): string {
  if (code === 0x00) return 'TLS';
  return code === 0x10 ? 'none' : reserved(code);
}

function transportText(code: number): string {
  if (code === 0x00) return 'TCP';
  return code === 0x10 ? 'UDP' : reserved(code);
}

function reserved(code: number): string {
  return `reserved (0x${code.toString(16).padStart(2, '0').toUpperCase()})`;
}
