// What a plan lets happen, and when: so many milliseconds after so many messages.
import type { Happening, Item, Plan } from './plan.ts';

export type SensorItem = Extract<Item, { do: 'sensor' }>;
export type Event = { readonly at_ns: number } & (
  { readonly what: Happening } | { readonly sensor: SensorItem }
);

export class Agenda {
  readonly #waiting: readonly Item[];
  #events: Event[] = [];

  constructor({ items }: Plan) {
    this.#waiting = items.filter((item) => item.do === 'happen' || item.do === 'sensor');
  }

  /** As many messages have been sent by now. */
  after(messages: number, at_ns: number): void {
    for (const item of this.#waiting) {
      if (item.nth !== messages) continue;
      if (item.do === 'happen')
        this.#events.push({ at_ns: at_ns + item.ms * 1e6, what: item.what });
      else if (item.do === 'sensor') this.#events.push({ at_ns, sensor: item });
    }
  }

  next_ns(): number {
    let next_ns = Infinity;
    for (const { at_ns } of this.#events) next_ns = Math.min(next_ns, at_ns);
    return next_ns;
  }

  /** What is due, once. */
  due(now_ns: number): readonly Event[] {
    if (this.next_ns() > now_ns) return [];
    const due = this.#events.filter(({ at_ns }) => at_ns <= now_ns);
    this.#events = this.#events.filter(({ at_ns }) => at_ns > now_ns);
    return due;
  }
}
