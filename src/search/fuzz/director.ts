// What a plan asks of a side at each of its decisions and messages, and of the network at each message.
import type { Side } from '../../trace/observation.ts';
import type { Item, ItemKind, Plan } from './plan.ts';

type Of<K extends ItemKind> = Extract<Item, { do: K }>;

/** Departures at one place, the last of each kind. */
type At = { [K in ItemKind]?: Of<K> };

type Counted = 'decisions' | 'messages' | 'lies';

export class Director {
  readonly plan: Plan;
  readonly #counts = new Map<string, number>();
  readonly #decisions: Readonly<Record<Side, Map<number, At>>>;
  readonly #messages: Readonly<Record<Side, Map<number, At>>>;
  readonly #delays = new Map<number, number>();
  readonly #asks: Of<'ask'>[] = [];

  constructor(plan: Plan) {
    this.plan = plan;
    this.#decisions = { vehicle: new Map(), charger: new Map() };
    this.#messages = { vehicle: new Map(), charger: new Map() };
    for (const item of plan.items) this.#file(item);
    this.#asks.sort((a, b) => a.nth - b.nth);
  }

  /** The departures of a side's next decision, counted over all sessions. */
  decision(side: Side): At | undefined {
    return this.#decisions[side].get(this.#next('decisions', side));
  }

  /** The departures of the next message a side composes. */
  message(side: Side): At | undefined {
    return this.#messages[side].get(this.#next('messages', side));
  }

  /** The departures of the next message a liar lets go. */
  lie(side: Side): At | undefined {
    return this.#messages[side].get(this.#next('lies', side));
  }

  #next(what: Counted, side: Side | 'link'): number {
    const key = `${what} ${side}`;
    const nth = this.#counts.get(key) ?? 0;
    this.#counts.set(key, nth + 1);
    return nth;
  }

  /** How much longer the network takes over the next message of either side. */
  delay_ms(): number {
    return this.#delays.get(this.#next('messages', 'link')) ?? 0;
  }

  /** What the vehicle asks for with its nth demand, where that is not the usual. */
  asked(nth: number): Of<'ask'> | undefined {
    return this.#asks.findLast((item) => item.nth <= nth);
  }

  #file(item: Item): void {
    switch (item.do) {
      case 'choose':
      case 'wait':
        put(this.#decisions[item.side], item);
        return;
      case 'say':
        put(this.#messages[item.side], item);
        return;
      case 'lie':
      case 'alter':
      case 'drive':
      case 'network':
        if (this.plan.liar !== null) put(this.#messages[this.plan.liar], item);
        return;
      case 'delay':
        this.#delays.set(item.nth, item.ms);
        return;
      case 'ask':
        this.#asks.push(item);
        return;
      default:
    }
  }
}

function put(places: Map<number, At>, item: Item): void {
  const before = places.get(item.nth) ?? {};
  places.set(item.nth, { ...before, [item.do]: item });
}
