// The highest value a limit or a request still allows at a moment. A lower value takes effect only after the time the
// other side is given to follow it.

interface Entry {
  value: number;
  /** When a later value took its place; Infinity for the latest. */
  superseded_ns: number;
  frame: number | null;
}

export interface Allowed {
  value: number;
  /** Frame that set the value which decides. */
  frame: number | null;
  /** The latest value, which may be lower. */
  latest: number;
}

/**
 * Window in nanoseconds during which a superseded value still counts in full, then a slope in units per second.
 * `highest`: the most that may have been set where the recording did not show it.
 */
export class Ceiling {
  readonly #window_ns: number;
  readonly #slope_per_s: number;
  readonly #unseenLasts_ns: number;
  #entries: Entry[] = [];
  #knownFrom_ns = -Infinity;

  constructor(window_ns: number, slope_per_s: number, highest: number) {
    this.#window_ns = window_ns;
    this.#slope_per_s = slope_per_s;
    this.#unseenLasts_ns = window_ns + (highest / slope_per_s) * 1e9;
  }

  set(value: number, at_ns: number, frame: number | null): void {
    const last = this.#entries.at(-1);
    if (last?.value === value) return;
    if (last !== undefined) last.superseded_ns = at_ns;
    // A superseded value at or below the new one can no longer decide.
    this.#entries = this.#entries.filter(
      (entry) => entry.value > value && this.#allowedBy(entry, at_ns) > value,
    );
    this.#entries.push({ value, superseded_ns: Infinity, frame });
  }

  /** The highest value allowed at `now_ns`, or null before the first and while an unseen one may still count. */
  allowed(now_ns: number): Allowed | null {
    const latest = this.#entries.at(-1);
    if (latest === undefined || now_ns < this.#knownFrom_ns) return null;
    let value = latest.value;
    let frame = latest.frame;
    for (const entry of this.#entries) {
      const own = this.#allowedBy(entry, now_ns);
      if (own > value) [value, frame] = [own, entry.frame];
    }
    return { value, frame, latest: latest.value };
  }

  /** Up to `at_ns` anything may have been set unseen. */
  forget(at_ns: number): void {
    this.#entries = [];
    this.#knownFrom_ns = at_ns + this.#unseenLasts_ns;
  }

  #allowedBy(entry: Entry, now_ns: number): number {
    const late_ns = now_ns - entry.superseded_ns - this.#window_ns;
    if (late_ns <= 0) return entry.value;
    return entry.value - (this.#slope_per_s * late_ns) / 1e9;
  }
}
