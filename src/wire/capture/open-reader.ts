// Which capture format some bytes are, by their magic; gzip is unpacked on the way.
import { hexText } from '../bytes.ts';
import { InputError } from '../../trace/input-error.ts';
import { PcapReader, isPcap } from './pcap.ts';
import { PcapngReader, isPcapng } from './pcapng.ts';
import type { CaptureReader, PacketSink } from './packet.ts';

/** Bytes that tell the format. */
export const MAGIC_BYTES = 4;

export function isGzip(bytes: Uint8Array): boolean {
  return bytes.length >= 2 && bytes[0] === 0x1f && bytes[1] === 0x8b;
}

/** Whether a file that begins with these bytes (4 are enough) is a capture, packed or not. */
export function isCapture(bytes: Uint8Array): boolean {
  return isPcap(bytes) || isPcapng(bytes) || isGzip(bytes);
}

/**
 * The reader for a file that begins with `first`.
 * @throws InputError when that is no capture format.
 */
export function captureReader(first: Uint8Array, sink: PacketSink): CaptureReader {
  if (isPcap(first)) return new PcapReader(sink);
  if (isPcapng(first)) return new PcapngReader(sink);
  if (first.length === 0) {
    throw new InputError('the file is empty', { byte: 0 }, 'record it again');
  }
  const begins = hexText(first, 0, Math.min(first.length, MAGIC_BYTES));
  const what = `this is no capture file: it begins with ${begins}`;
  throw new InputError(what, { byte: 0 }, 'give a pcap or pcapng file');
}

/** Unpacks a gzip stream in bounded memory. The modules for it are loaded only here, to start fast without. */
export async function gunzip(
  chunks: AsyncIterable<Uint8Array>,
): Promise<AsyncIterable<Uint8Array>> {
  const [{ createGunzip }, { Readable }] = await Promise.all([
    import('node:zlib'),
    import('node:stream'),
  ]);
  const unpacked = createGunzip();
  const packed = Readable.from(chunks);
  packed.on('error', (error) => unpacked.destroy(error));
  unpacked.on('close', () => packed.destroy());
  return packed.pipe(unpacked);
}
