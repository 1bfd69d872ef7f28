// A capture file as a trace: header first, then the observations as the file is read, in bounded memory.
import { InputError } from '../trace/input-error.ts';
import { MAGIC_BYTES, captureReader, gunzip, isGzip } from './capture/open-reader.ts';
import { epochText } from './capture/clock.ts';
import { Dissector } from './dissector.ts';
import { Outbox } from './outbox.ts';
import type { Observation, OpenTrace } from '../trace/observation.ts';
import type { CaptureReader } from './capture/packet.ts';
import type { LinkTypeCount } from './dissector.ts';
import type { ProblemCount } from './outbox.ts';

export { isCapture } from './capture/open-reader.ts';

/** What a capture was, once it is read. */
export interface CaptureSummary {
  format: 'pcap' | 'pcapng';
  /** Packets, damaged ones included. */
  frames: number;
  /** Packets that the recorder cut. */
  cutFrames: number;
  messages: number;
  /** Connections told in the trace. */
  links: number;
  linkTypes: LinkTypeCount[];
  /** What was wrong with the recording, each kind once. */
  problems: ProblemCount[];
}

export interface OpenCapture extends OpenTrace {
  /** Complete once the observations have been read to their end. */
  summary(): CaptureSummary;
}

/**
 * Opens a pcap or pcapng file, packed with gzip or not. `name` is the file's, for messages.
 * @throws InputError, here or while the observations are read, when the file is no capture or of a version
 * that cannot be read. Damage inside it is told as notes.
 */
export async function openCapture(
  source: AsyncIterable<Uint8Array>,
  name: string,
): Promise<OpenCapture> {
  const capture = new Capture(name);
  try {
    await capture.start(source);
  } catch (error) {
    await capture.close();
    throw error;
  }
  return {
    header: {
      handfast: 'trace',
      version: 1,
      epoch: capture.reader.epoch_ns === null ? null : epochText(capture.reader.epoch_ns),
      recorder: name,
    },
    observations: capture.observations(),
    summary: () => capture.summary(),
  };
}

class Capture {
  reader!: CaptureReader;
  #name: string;
  #outbox = new Outbox();
  #dissector = new Dissector(this.#outbox);
  #chunks!: AsyncIterator<Uint8Array>;
  #ended = false;
  #packed = false;

  constructor(name: string) {
    this.#name = name;
  }

  /** Reads up to the first packet, whose time is the trace's epoch. */
  async start(source: AsyncIterable<Uint8Array>): Promise<void> {
    this.#chunks = source[Symbol.asyncIterator]();
    let first = await this.#pullMagic();
    if (isGzip(first)) {
      this.#packed = true;
      const unpacked = await gunzip(chain(first, this.#chunks));
      this.#chunks = unpacked[Symbol.asyncIterator]();
      first = await this.#pullMagic();
    }
    this.reader = this.#named(() => captureReader(first, this.#dissector));
    this.#named(() => this.reader.push(first));
    while (this.reader.epoch_ns === null && (await this.#step()));
  }

  /** Observations in batches, one a chunk of the file. */
  async *observations(): AsyncGenerator<Observation[]> {
    try {
      do {
        const batch = this.#outbox.take();
        if (batch.length > 0) yield batch;
      } while (await this.#step());
      const rest = this.#outbox.take();
      if (rest.length > 0) yield rest;
    } finally {
      await this.close();
    }
  }

  async close(): Promise<void> {
    await this.#chunks.return?.();
  }

  summary(): CaptureSummary {
    return {
      format: this.reader.format,
      frames: this.reader.frames,
      cutFrames: this.#dissector.cutFrames,
      messages: this.#outbox.messages,
      links: this.#dissector.links,
      linkTypes: this.#dissector.linkTypes,
      problems: this.#outbox.problems(),
    };
  }

  /** Reads one chunk; false when there is none left and all has been told. */
  async #step(): Promise<boolean> {
    if (this.#ended) return false;
    const chunk = await this.#pull();
    if (chunk !== null) {
      this.#named(() => this.reader.push(chunk));
      return true;
    }
    this.#ended = true;
    this.#named(() => this.reader.end());
    this.#dissector.end();
    if (this.reader.frames === 0) {
      this.#outbox.put({ kind: 'note', at_ns: 0, says: 'the capture holds no packets' });
    }
    this.#outbox.tellRest();
    return false;
  }

  async #pull(): Promise<Uint8Array | null> {
    try {
      const { done, value } = await this.#chunks.next();
      // A Buffer is a Uint8Array whose views are far slower to make, and views are made for every message.
      return done === true ? null : new Uint8Array(value.buffer, value.byteOffset, value.length);
    } catch (error) {
      if (!this.#packed || !isZlibError(error)) throw error;
      const says = 'the packed (gzip) file is damaged or cut: what follows is missing';
      if (this.reader === undefined) {
        throw new InputError(says, { file: this.#name }, 'pack it again');
      }
      this.#outbox.problem({ problem: 'damaged', says, frame: this.reader.frames });
      return null;
    }
  }

  /** As many first chunks as it takes to tell the format, as one. */
  async #pullMagic(): Promise<Uint8Array> {
    let first: Uint8Array = new Uint8Array(0);
    while (first.length < MAGIC_BYTES) {
      const chunk = await this.#pull();
      if (chunk === null) break;
      first = first.length === 0 ? chunk : joined(first, chunk);
    }
    return first;
  }

  /** Adds the file's name to an error's place. */
  #named<T>(action: () => T): T {
    try {
      return action();
    } catch (error) {
      throw error instanceof InputError ? error.at({ file: this.#name }) : error;
    }
  }
}

function joined(left: Uint8Array, right: Uint8Array): Uint8Array {
  const both = new Uint8Array(left.length + right.length);
  both.set(left);
  both.set(right, left.length);
  return both;
}

async function* chain(
  first: Uint8Array,
  rest: AsyncIterator<Uint8Array>,
): AsyncGenerator<Uint8Array> {
  try {
    yield first;
    for (;;) {
      const { done, value } = await rest.next();
      if (done === true) return;
      yield value;
    }
  } finally {
    await rest.return?.();
  }
}

function isZlibError(error: unknown): boolean {
  return error instanceof Error && 'code' in error && String(error.code).startsWith('Z_');
}
