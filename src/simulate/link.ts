// The connection between the sides: in order, with a delay; it may be cut (nothing arrives, nobody is told), or close.
import type { Side as SideName } from '../trace/observation.ts';
import type { SendMessage } from './side.ts';

export interface Delivery {
  readonly to: SideName;
  readonly at_ns: number;
  readonly sent_ns: number;
  /** Null: the other side has ended the connection. */
  readonly message: SendMessage | null;
}

export const other = (side: SideName): SideName => (side === 'vehicle' ? 'charger' : 'vehicle');

export class Link {
  state: 'none' | 'open' | 'closed' = 'none';
  cut = false;
  private readonly delay_ns: number;
  private readonly waiting: Delivery[] = [];
  private readonly last_ns: Record<SideName, number> = { vehicle: 0, charger: 0 };

  constructor(delay_ms: number) {
    this.delay_ns = Math.round(delay_ms * 1e6);
  }

  /** Puts it on the wire; false when nothing goes through. */
  send(from: SideName, at_ns: number, message: SendMessage | null): boolean {
    if (this.state !== 'open' || this.cut) return false;
    const to = other(from);
    const arrives_ns = Math.max(at_ns + this.delay_ns, this.last_ns[to] + 1);
    this.last_ns[to] = arrives_ns;
    this.waiting.push({ to, at_ns: arrives_ns, sent_ns: at_ns, message });
    return true;
  }

  /** What is on the wire is lost too. */
  break(): void {
    this.cut = true;
    this.waiting.length = 0;
  }

  next_ns(): number {
    let next_ns = Infinity;
    for (const { at_ns } of this.waiting) next_ns = Math.min(next_ns, at_ns);
    return next_ns;
  }

  /** What has arrived by now, in order. */
  arrived(at_ns: number): Delivery[] {
    if (this.next_ns() > at_ns) return [];
    const here = this.waiting.filter((one) => one.at_ns <= at_ns);
    const rest = this.waiting.filter((one) => one.at_ns > at_ns);
    this.waiting.splice(0, this.waiting.length, ...rest);
    return here.toSorted((a, b) => a.at_ns - b.at_ns);
  }
}
