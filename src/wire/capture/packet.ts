// What a capture-file reader hands on. One Packet object is reused for every packet of a file, so nobody
// may keep it, or its bytes, beyond the call.

export interface Packet {
  /** 1-based number in the file, counted as other capture tools count. */
  frame: number;
  /** Whole nanoseconds from the first packet of the file. */
  at_ns: number;
  /** Link type number of the pcap and pcapng formats (LINKTYPE_… registry). */
  linkType: number;
  /** The packet is `bytes[start..end)`. */
  bytes: Uint8Array;
  start: number;
  end: number;
  /** Bytes of the packet that the recorder did not keep (snapshot length). */
  missing: number;
}

/** Something wrong with the recording itself, told as a note in the trace. */
export interface Problem {
  problem: 'damaged' | 'cut' | 'clock' | 'unsupported';
  says: string;
  frame?: number;
  /** Offset in the capture file, 0-based. */
  byte?: number;
}

export interface PacketSink {
  packet(packet: Packet): void;
  problem(problem: Problem): void;
}

/** Reads one capture format. Pushed bytes are consumed at once; `end` tells what is left over. */
export interface CaptureReader {
  readonly format: 'pcap' | 'pcapng';
  /** Wall-clock time of the first packet, nanoseconds since 1970; null before it, or without a time. */
  readonly epoch_ns: bigint | null;
  /** Packets seen so far, damaged ones included. */
  readonly frames: number;
  push(chunk: Uint8Array): void;
  end(): void;
}

/**
 * Largest packet and largest pcapng block taken for real. Recorders cut at 256 KiB; the rest is room for
 * exotic links (`common practice`: readers refuse far larger records as damage).
 */
export const MAX_PACKET_BYTES = 16 * 1024 * 1024;
