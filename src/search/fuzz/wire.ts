// The connection of one session: in order, with whatever delay the plan gives a message.
import type { Side as SideName } from '../../trace/observation.ts';
import { other } from '../../simulate/link.ts';
import type { SendMessage } from '../../simulate/side.ts';
import type { Director } from './director.ts';

export type Message = Omit<SendMessage, 'do'>;

export interface Delivery {
  readonly to: SideName;
  readonly at_ns: number;
  /** Null: the other side has ended the connection. */
  readonly message: Message | null;
}

export class Wire {
  readonly name: string;
  state: 'none' | 'open' | 'closed' = 'none';
  readonly #director: Director;
  #waiting: Delivery[] = [];
  readonly #last_ns: Record<SideName, number> = { vehicle: 0, charger: 0 };

  constructor(director: Director, session: number) {
    this.#director = director;
    this.name = `tcp:${session + 1}`;
  }

  /** False when nothing goes through. */
  send(from: SideName, sent_ns: number, message: Message | null): boolean {
    if (this.state !== 'open') return false;
    const to = other(from);
    const late_ms = message === null ? 0 : this.#director.delay_ms();
    const at_ns = Math.max(sent_ns + late_ms * 1e6, this.#last_ns[to]);
    this.#last_ns[to] = at_ns;
    this.#waiting.push({ to, at_ns, message });
    return true;
  }

  /** Whoever has closed reads no more: what is on the way to it is lost. */
  close(from: SideName, at_ns: number): void {
    this.send(from, at_ns, null);
    this.state = 'closed';
    this.#waiting = this.#waiting.filter(({ to }) => to !== from);
  }

  /** What is on the way is lost. */
  break(): void {
    this.state = 'closed';
    this.#waiting = [];
  }

  next_ns(): number {
    let next_ns = Infinity;
    for (const { at_ns } of this.#waiting) next_ns = Math.min(next_ns, at_ns);
    return next_ns;
  }

  arrived(at_ns: number): readonly Delivery[] {
    if (this.next_ns() > at_ns) return [];
    const here = this.#waiting.filter((one) => one.at_ns <= at_ns);
    this.#waiting = this.#waiting.filter((one) => one.at_ns > at_ns);
    return here;
  }
}
