// One session's observations, unpacked: the times at once, contents when they are asked for.
import type { Reading } from '../../facts/reading.ts';
import { protocols, timeout_ns, type SessionProtocol } from '../../protocols/index.ts';
import { digest } from '../../protocols/system-c/digest.ts';
import { readMessage } from '../../protocols/system-c/reading.ts';
import type { Json, JsonObject, MessageObservation, Side } from '../../trace/observation.ts';
import { plain } from '../plain.ts';
import { unpack } from '../timeline/pack.ts';
import { leafPaths, rebuild } from '../timeline/shapes.ts';
import type { PackedTimeline, ShapeHead, StateSet } from '../timeline/timeline.ts';
import { recordWords, word } from './record-words.ts';

/** A field of a message and what it was in the message of that name before. */
export interface Field {
  path: string;
  value: string;
  before: string | null;
}

export class Log {
  readonly packed: PackedTimeline;
  /** Seconds from the file's epoch. */
  readonly at: Float64Array;
  readonly frames: number[];
  readonly protocol: SessionProtocol | null;
  readonly #shapes: number[];
  /** Position of each row among those of its shape. */
  readonly #places: Int32Array;
  readonly #columns: (Json[][] | undefined)[] = [];
  readonly #paths: (string[] | undefined)[] = [];
  readonly #states: number[];
  readonly #foreign: Set<number>;

  constructor(packed: PackedTimeline, protocol: string) {
    this.packed = packed;
    const ticks_s = packed.tick_ns / 1e9;
    this.at = Float64Array.from(unpack(packed.at) as number[], (ticks) => ticks * ticks_s);
    this.frames = unpack(packed.frames) as number[];
    this.#shapes = unpack(packed.shapes) as number[];
    this.#states = unpack(packed.states) as number[];
    this.#foreign = new Set(packed.foreign);
    this.protocol = protocol === 'din70121' || protocol === 'iso15118-2' ? protocol : null;
    const counts = packed.heads.map(() => 0);
    this.#places = Int32Array.from(this.#shapes, (shape) => counts[shape]!++);
  }

  get length(): number {
    return this.at.length;
  }

  head(row: number): ShapeHead {
    return this.packed.heads[this.#shapes[row]!]!;
  }

  /** What the row says beside its head: of a message `{header?, message}`. */
  body(row: number): JsonObject {
    const shape = this.#shapes[row]!;
    const columns = this.#columnsOf(shape);
    const place = this.#places[row]!;
    let leaf = 0;
    return rebuild(this.head(row).tree, () => columns[leaf++]![place]!) as JsonObject;
  }

  /** The row in a few words. */
  says(row: number): string {
    const { kind } = this.head(row);
    if (kind !== 'message') return recordWords(this.body(row));
    const reading = this.reading(row);
    return reading === null ? '' : plain(digest(reading));
  }

  reading(row: number): Reading | null {
    const head = this.head(row);
    const { protocol } = head;
    if (head.kind !== 'message' || protocol === 'slac' || protocol === 'sdp') return null;
    const { dialect } = protocols[this.protocol ?? 'din70121'];
    const reading = readMessage(this.observation(row) as MessageObservation, dialect);
    if (this.#foreign.has(row)) reading.session = 'foreign';
    return reading;
  }

  /** The row as a line of a trace holds it, `at` in seconds. */
  line(row: number): JsonObject {
    const { at_ns: _, ...rest } = this.observation(row) as MessageObservation;
    return { at: this.at[row]!, ...rest } as unknown as JsonObject;
  }

  observation(row: number): unknown {
    const { tree: _, name, kind, ...head } = this.head(row);
    const frame = this.frames[row]!;
    return {
      at_ns: Math.round(this.at[row]! * 1e9),
      kind,
      ...(kind === 'message' ? { name } : {}),
      ...head,
      ...(frame === 0 ? {} : { frame }),
      ...this.body(row),
    };
  }

  fields(row: number): Field[] {
    const before = this.sameBefore(row);
    const old = before === null ? null : new Map(this.fieldWords(before));
    return this.fieldWords(row).map(([path, value]) => ({
      path,
      value,
      before: old === null ? null : (old.get(path) ?? 'absent'),
    }));
  }

  /** How many fields differ from the message of that name before; null where there is none. */
  changed(row: number): number | null {
    if (this.sameBefore(row) === null) return null;
    return this.fields(row).filter(({ value, before }) => value !== before).length;
  }

  /** The row before with the same name, sender and kind: within a second thousand rows, for speed. */
  sameBefore(row: number): number | null {
    const { name, from } = this.head(row);
    for (let before = row - 1; before >= Math.max(0, row - 2000); before -= 1) {
      const head = this.head(before);
      if (head.name === name && head.from === from) return before;
    }
    return null;
  }

  states(row: number): StateSet {
    return this.packed.stateSets[this.#states[row]!] ?? NOWHERE;
  }

  /** How long the vehicle waits for the answer to a request, in seconds. */
  timeout_s(request: string): number {
    return timeout_ns(protocols[this.protocol ?? 'din70121'], request) / 1e9;
  }

  from(row: number): Side | null {
    return this.head(row).from ?? null;
  }

  /** The last row at or before a time; 0 when there is none. */
  rowAt(at: number): number {
    let [low, high] = [0, this.length - 1];
    while (low < high) {
      const middle = (low + high + 1) >> 1;
      if (this.at[middle]! <= at) low = middle;
      else high = middle - 1;
    }
    return low;
  }

  /** The row of a finding: its frame where it has one, else its time. */
  rowOf({ frame, at }: { frame: number | null; at: number }): number {
    const row = frame === null ? -1 : this.frames.indexOf(frame);
    return row >= 0 ? row : this.rowAt(at + 5e-10);
  }

  /** Way and value of every field, as text. */
  fieldWords(row: number): [string, string][] {
    const shape = this.#shapes[row]!;
    const place = this.#places[row]!;
    const columns = this.#columnsOf(shape);
    const paths = (this.#paths[shape] ??= leafPaths(this.head(row).tree).map((path) =>
      plain((path[0] === 'message' ? path.slice(1) : path).join(' › ')),
    ));
    return paths.map((path, index) => [path, word(columns[index]![place]!)]);
  }

  #columnsOf(shape: number): Json[][] {
    return (this.#columns[shape] ??= this.packed.columns[shape]!.map(unpack));
  }
}

const NOWHERE: StateSet = { vehicle: { states: [], next: [] }, charger: { states: [], next: [] } };
