// A sink that keeps copies of what a capture reader hands on.
import type { CaptureReader, PacketSink, Problem } from '../../../src/wire/capture/packet.ts';

export interface Recorded {
  packets: { frame: number; at_ns: number; linkType: number; bytes: string; missing: number }[];
  problems: Problem[];
  epoch_ns: bigint | null;
}

export function recordedBy(
  open: (sink: PacketSink) => CaptureReader,
  file: Uint8Array,
  chunkSize = file.length || 1,
): Recorded {
  const recorded: Recorded = { packets: [], problems: [], epoch_ns: null };
  const reader = open({
    packet({ frame, at_ns, linkType, bytes, start, end, missing }) {
      const text = Buffer.from(bytes.subarray(start, end)).toString('hex');
      recorded.packets.push({ frame, at_ns, linkType, bytes: text, missing });
    },
    problem: (problem) => recorded.problems.push(problem),
  });
  for (let at = 0; at < file.length; at += chunkSize) {
    reader.push(file.subarray(at, at + chunkSize));
  }
  reader.end();
  recorded.epoch_ns = reader.epoch_ns;
  return recorded;
}
