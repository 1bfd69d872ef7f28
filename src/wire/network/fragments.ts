// Putting fragmented datagrams together (RFC 8200 section 4.5, RFC 791). Few are open at a time and each is
// bounded; the oldest goes when there are too many.
import { hexText } from '../bytes.ts';
import type { Datagram, Fragment } from './datagram.ts';

const MAX_OPEN = 64;
const MAX_DATAGRAM_BYTES = 65_535;
const MAX_PARTS = 128;

interface Part {
  offset: number;
  bytes: Uint8Array;
}

interface Open {
  parts: Part[];
  /** Known once the last part is there. */
  total: number | null;
  /** Of the first part, which alone tells the true one. */
  protocol: number;
}

export class Fragments {
  #open = new Map<string, Open>();
  #lost: (says: string) => void;

  constructor(lost: (says: string) => void) {
    this.#lost = lost;
  }

  /** Takes the part in `datagram`; true when the datagram now holds the whole. */
  take(datagram: Datagram, fragment: Fragment): boolean {
    const { bytes, source, addressLength, start, end } = datagram;
    if (fragment.offset + end - start > MAX_DATAGRAM_BYTES || datagram.missing > 0) {
      this.#lost('a fragment is too long or was cut: its datagram is missing');
      return false;
    }
    const addresses = hexText(bytes, source, source + 2 * addressLength);
    const key = `${addresses} ${fragment.id} ${datagram.protocol}`;
    const open = this.#find(key);
    open.parts.push({ offset: fragment.offset, bytes: bytes.slice(start, end) });
    if (fragment.offset === 0) open.protocol = datagram.protocol;
    if (!fragment.more) open.total = fragment.offset + end - start;
    const whole = open.total === null ? null : join(open.parts, open.total);
    if (whole === null) {
      if (open.parts.length >= MAX_PARTS) this.#drop(key);
      return false;
    }
    this.#open.delete(key);
    fill(datagram, whole, open.protocol);
    return true;
  }

  /** At the end of the capture: tells what stayed incomplete. */
  end(): void {
    for (const key of this.#open.keys()) this.#drop(key);
  }

  #find(key: string): Open {
    let open = this.#open.get(key);
    if (open === undefined) {
      if (this.#open.size >= MAX_OPEN) this.#drop(this.#open.keys().next().value!);
      open = { parts: [], total: null, protocol: 0 };
      this.#open.set(key, open);
    }
    return open;
  }

  #drop(key: string): void {
    this.#open.delete(key);
    this.#lost('a fragmented datagram stayed incomplete and is missing');
  }
}

/** The whole when the parts cover it without holes, else null. */
function join(parts: Part[], total: number): Uint8Array | null {
  parts.sort((left, right) => left.offset - right.offset);
  const whole = new Uint8Array(total);
  let covered = 0;
  for (const { offset, bytes } of parts) {
    if (offset > covered) return null;
    const fits = bytes.subarray(0, Math.max(0, total - offset));
    whole.set(fits, offset);
    covered = Math.max(covered, offset + fits.length);
  }
  return covered === total ? whole : null;
}

/** The addresses are copied in front of the data, for the datagram to stand on its own bytes. */
function fill(datagram: Datagram, whole: Uint8Array, protocol: number): void {
  const { bytes, source, addressLength } = datagram;
  const joined = new Uint8Array(2 * addressLength + whole.length);
  joined.set(bytes.subarray(source, source + 2 * addressLength));
  joined.set(whole, 2 * addressLength);
  datagram.bytes = joined;
  datagram.source = 0;
  datagram.destination = addressLength;
  datagram.protocol = protocol;
  datagram.start = 2 * addressLength;
  datagram.end = joined.length;
  datagram.missing = 0;
}
