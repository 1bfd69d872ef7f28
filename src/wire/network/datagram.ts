// What the network layer hands on: addresses and a payload of one transport protocol.

export const PROTOCOL_TCP = 6;
export const PROTOCOL_UDP = 17;

/** One object is reused for every packet; its bytes live only during the call. */
export interface Datagram {
  bytes: Uint8Array;
  /** Where the addresses stand, and how long they are (4 or 16). */
  source: number;
  destination: number;
  addressLength: number;
  protocol: number;
  /** The transport header and its data are `bytes[start..end)`. */
  start: number;
  end: number;
  /** Bytes of it that were not recorded. */
  missing: number;
}

export function newDatagram(): Datagram {
  return {
    bytes: new Uint8Array(0),
    source: 0,
    destination: 0,
    addressLength: 0,
    protocol: 0,
    start: 0,
    end: 0,
    missing: 0,
  };
}

/** A part of a fragmented datagram. */
export interface Fragment {
  id: number;
  /** In bytes. */
  offset: number;
  more: boolean;
}

/** `whole`: the datagram is filled · a fragment · or why there is nothing to hand on. */
export type NetworkResult = 'whole' | Fragment | { problem: string };
