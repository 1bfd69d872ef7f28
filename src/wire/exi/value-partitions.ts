// The value partitions of W3C EXI 1.0 (7.3.3): a string that came before is sent as its number,
// among the values of the same qualified name (local hit) or among all of the stream (global hit).
// Strings of length 0 have none.

const NONE: readonly string[] = [];

/** Values in the order they came, for the reader. */
export class ReadPartitions {
  private readonly locals: (string[] | null)[];
  private used: number[] = [];
  private all: string[] = [];

  constructor(partitions: number) {
    this.locals = Array.from({ length: partitions }, () => null);
  }

  get global(): readonly string[] {
    return this.all;
  }

  local(partition: number): readonly string[] {
    return this.locals[partition] ?? NONE;
  }

  add(partition: number, value: string): void {
    const local = this.locals[partition];
    if (local === null || local === undefined) {
      this.locals[partition] = [value];
      this.used.push(partition);
    } else {
      local.push(value);
    }
    this.all.push(value);
  }

  /** Forgets all values: partitions last for one stream. */
  reset(): void {
    if (this.all.length > 0) {
      for (const partition of this.used) {
        this.locals[partition] = null;
      }
      this.used = [];
      this.all = [];
    }
  }
}

/** Up to here values are searched one by one: nearly all messages have fewer. */
const SEARCHED_MAX = 16;

/**
 * Numbers of values, for the writer. A value is added once, so it has one number here and one
 * there.
 */
export class WritePartitions {
  private values: string[] = [];
  private index: Map<string, number> | null = null;
  /** Of each value: its partition, and its number there. */
  private readonly owners: number[] = [];
  private readonly localNumbers: number[] = [];
  private readonly localSizes: number[];

  constructor(partitions: number) {
    this.localSizes = Array.from({ length: partitions }, () => 0);
  }

  get size(): number {
    return this.values.length;
  }

  localSize(partition: number): number {
    return this.localSizes[partition]!;
  }

  /** The number of a value in the global partition, -1 if it is new. */
  find(value: string): number {
    return this.index === null ? this.values.indexOf(value) : (this.index.get(value) ?? -1);
  }

  /**
   * The number of the value with global number `at` in a local partition, -1 if it is not there.
   */
  localNumber(at: number, partition: number): number {
    return this.owners[at] === partition ? this.localNumbers[at]! : -1;
  }

  add(partition: number, value: string): void {
    const at = this.values.push(value) - 1;
    const number = this.localSizes[partition]!;
    this.owners[at] = partition;
    this.localNumbers[at] = number;
    this.localSizes[partition] = number + 1;
    if (this.index !== null) {
      this.index.set(value, at);
    } else if (at === SEARCHED_MAX) {
      this.index = new Map(this.values.map((one, order) => [one, order]));
    }
  }

  reset(): void {
    for (let at = 0; at < this.values.length; at += 1) {
      this.localSizes[this.owners[at]!] = 0;
    }
    if (this.values.length > 0) {
      this.values = [];
      this.index = null;
    }
  }
}
