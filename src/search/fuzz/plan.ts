// A plan is one session to be tried: an undisturbed one, and what departs from it. Everything else follows from the plan,
// so that the same plan always gives the same trace, and a plan with an item less is a simpler session.
import type { Side } from '../../trace/observation.ts';

export interface Plan {
  readonly pack: {
    readonly voltage_V: number;
    readonly asks_A: number;
    readonly limit_V: number;
    readonly limit_A: number;
  };
  readonly station: {
    readonly limit_V: number;
    readonly limit_A: number;
    readonly limit_W: number;
  };
  /** Demands after which the vehicle stops by itself. */
  readonly demands: number;
  /** Sessions one after another, each over a connection of its own. */
  readonly sessions: number;
  /** The side that may break its own rules: its lies, its network and its sensors. Its breaches are not charged. */
  readonly liar: Side | null;
  readonly items: readonly Item[];
}

/** The kinds of departures; each run draws which of them it may have. */
export const ITEM_KINDS = [
  'choose',
  'wait',
  'say',
  'ask',
  'happen',
  'delay',
  'lie',
  'alter',
  'drive',
  'network',
  'sensor',
] as const;
export type ItemKind = (typeof ITEM_KINDS)[number];

/** Kinds that only a liar may have. */
export const LIES: ReadonlySet<ItemKind> = new Set(['lie', 'alter', 'drive', 'network', 'sensor']);

export const HAPPENINGS = [
  'connection lost',
  'plug pulled',
  'contactor welds',
  'crash',
  'emergency stop',
  'vehicle restarts',
  'charger restarts',
  'operator stops at the vehicle',
  'operator stops at the charger',
  'weakest cell full',
  'isolation warning',
  'isolation fault',
] as const;
export type Happening = (typeof HAPPENINGS)[number];

/** What a network may do to a message beside delaying it. */
export const NETWORK = ['repeated', 'stale', 'reordered', 'foreign', 'lost'] as const;

/**
 * Commands a liar gives its own hardware, whatever its machine says. It does not close its contactors: that puts the
 * battery's voltage on a charger that can do nothing about it. Nor does it stop the oscillator, which no bundled vehicle
 * senses.
 */
export const COMMANDS = {
  vehicle: ['contactors open', 'pilot C', 'pilot B', 'unlocked'],
  charger: ['output on', 'output test', 'output precharge', 'output off'],
} as const;

/**
 * `nth`: a side's decision or message, or a message of both, from 0. `pick`: one of the ways there are, whatever their
 * number.
 */
export type Item =
  /** A side takes another way that its machine leaves it. */
  | { readonly do: 'choose'; readonly side: Side; readonly nth: number; readonly pick: number }
  /** It takes its time for that. */
  | { readonly do: 'wait'; readonly side: Side; readonly nth: number; readonly ms: number }
  /** It says what its machine leaves open. */
  | { readonly do: 'say'; readonly side: Side; readonly nth: number; readonly pick: number }
  /** From here on the vehicle asks for another current and voltage. */
  | { readonly do: 'ask'; readonly nth: number; readonly A: number; readonly V: number }
  | {
      readonly do: 'happen';
      readonly what: Happening;
      readonly nth: number;
      readonly ms: number;
    }
  /** The network takes its time. */
  | { readonly do: 'delay'; readonly nth: number; readonly ms: number }
  /** The liar says something else than its machine. */
  | { readonly do: 'lie'; readonly nth: number; readonly message: number; readonly pick: number }
  /** One fact of what it says is changed. */
  | { readonly do: 'alter'; readonly nth: number; readonly fact: number; readonly pick: number }
  | { readonly do: 'drive'; readonly nth: number; readonly command: number }
  | { readonly do: 'network'; readonly nth: number; readonly how: (typeof NETWORK)[number] }
  | {
      readonly do: 'sensor';
      readonly nth: number;
      readonly which: number;
      readonly how: 'stuck' | 'drifts' | 'absent';
    };

/** A session in which nothing happens that should not. */
export const PLAIN: Plan = Object.freeze({
  pack: { voltage_V: 350, asks_A: 100, limit_V: 420, limit_A: 200 },
  station: { limit_V: 500, limit_A: 200, limit_W: 100_000 },
  demands: 3,
  sessions: 1,
  liar: null,
  items: [],
});
