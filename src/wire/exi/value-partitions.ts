// The value partitions of W3C EXI 1.0 (7.3.3): a string that came before is sent as its number, among the values
// of the same qualified name (local hit) or among all of the stream (global hit). Strings of length 0 have none.

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

/** Numbers of values, for the writer. */
export class WritePartitions {
  private readonly locals: Map<string, number>[];
  private readonly used: number[] = [];
  readonly global = new Map<string, number>();

  constructor(partitions: number) {
    this.locals = Array.from({ length: partitions }, () => new Map<string, number>());
  }

  local(partition: number): ReadonlyMap<string, number> {
    return this.locals[partition]!;
  }

  add(partition: number, value: string): void {
    const local = this.locals[partition]!;
    if (local.size === 0) {
      this.used.push(partition);
    }
    local.set(value, local.size);
    this.global.set(value, this.global.size);
  }

  reset(): void {
    for (const partition of this.used) {
      this.locals[partition]!.clear();
    }
    this.used.length = 0;
    if (this.global.size > 0) {
      this.global.clear();
    }
  }
}
