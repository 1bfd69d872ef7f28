/** `from` moved toward `to` by at most `most`. */
export function approach(from: number, to: number, most: number): number {
  return from < to ? Math.min(to, from + most) : Math.max(to, from - most);
}

/** A contactor or a lock: it arrives some time after it is driven, or never again once it is stuck. */
export class Switch<S extends string> {
  state: S;
  due_ns = Infinity;
  stuck: S | null = null;
  private goal: S;
  private readonly takes_ms: Readonly<Record<S, number>>;

  constructor(state: S, takes_ms: Readonly<Record<S, number>>) {
    this.state = state;
    this.goal = state;
    this.takes_ms = takes_ms;
  }

  drive(to: S, at_ns: number): void {
    this.goal = to;
    this.due_ns = to === this.state ? Infinity : at_ns + Math.round(this.takes_ms[to] * 1e6);
  }

  arrive(at_ns: number): void {
    if (at_ns < this.due_ns) return;
    this.due_ns = Infinity;
    // What is stuck stays where it got stuck, if that is where it is.
    if (this.stuck !== this.state) this.state = this.goal;
  }
}
