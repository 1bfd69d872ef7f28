// Plans at random, through fast-check: what it generates it can also shrink.
import fc from 'fast-check';
import {
  COMMANDS,
  HAPPENINGS,
  ITEM_KINDS,
  LIES,
  NETWORK,
  type Item,
  type ItemKind,
  type Plan,
} from './plan.ts';

/** A session has some fifty decisions and messages; a departure from the hundredth on meets nobody. */
const LATEST = 80;
const MOST_ITEMS = 10;
const PICKS = 4096;

/** Sorted, so that shrinking goes towards the simplest. */
const FREE_WAITS_ms = [0, 1, 30, 100, 300, 700, 1500, 3000];

/** The edges of every deadline: exactly, and a millisecond before and after. */
export function edges_ms(delays_ms: readonly number[]): number[] {
  const all = new Set(FREE_WAITS_ms);
  for (const ms of delays_ms) for (const off of [-1, 0, 1]) all.add(ms + off);
  return [...all].toSorted((a, b) => a - b);
}

export type PlanArbitrary = fc.Arbitrary<Plan>;

/** `delays_ms`: every deadline the two sides know. */
export function planArbitrary(delays_ms: readonly number[]): PlanArbitrary {
  const of = (...values: number[]): fc.Arbitrary<number> => fc.constantFrom(...values);
  return fc.record({
    pack: fc.record({
      voltage_V: of(350, 240, 399, 720),
      asks_A: of(100, 6, 190, 1, 400, 0),
      limit_V: of(420, 800, 300),
      limit_A: of(200, 50, 500, 1),
    }),
    station: fc.record({
      limit_V: of(500, 1000, 200),
      limit_A: of(200, 30, 500, 1),
      limit_W: of(100_000, 10_000, 1_000_000, 1),
    }),
    demands: fc.integer({ min: 1, max: 5 }),
    sessions: fc.constantFrom(1, 1, 1, 2),
    liar: fc.constantFrom(null, 'vehicle' as const, 'charger' as const),
    items: fc.array(itemArbitrary(edges_ms(delays_ms)), { maxLength: MOST_ITEMS, size: 'max' }),
  });
}

function itemArbitrary(waits_ms: readonly number[]): fc.Arbitrary<Item> {
  const side = fc.constantFrom('vehicle' as const, 'charger' as const);
  const nth = fc.nat(LATEST);
  const pick = fc.nat(PICKS);
  const ms = fc.constantFrom(...waits_ms);
  const most = Math.max(COMMANDS.vehicle.length, COMMANDS.charger.length) - 1;
  return fc.oneof<fc.Arbitrary<Item>[]>(
    fc.record({ do: fc.constant('choose' as const), side, nth, pick }),
    fc.record({ do: fc.constant('wait' as const), side, nth, ms }),
    fc.record({ do: fc.constant('say' as const), side, nth, pick }),
    fc.record({
      do: fc.constant('ask' as const),
      nth,
      A: fc.constantFrom(0, 0.1, 1, 20, 150, 500, 3000),
      V: fc.constantFrom(0, 59, 61, 300, 349, 400, 600, 1500),
    }),
    fc.record({
      do: fc.constant('happen' as const),
      what: fc.constantFrom(...HAPPENINGS),
      nth,
      ms,
    }),
    fc.record({ do: fc.constant('delay' as const), nth, ms }),
    fc.record({ do: fc.constant('lie' as const), nth, message: fc.nat(40), pick }),
    fc.record({ do: fc.constant('alter' as const), nth, fact: fc.nat(6), pick: fc.nat(6) }),
    fc.record({ do: fc.constant('drive' as const), nth, command: fc.nat(most) }),
    fc.record({ do: fc.constant('network' as const), nth, how: fc.constantFrom(...NETWORK) }),
    fc.record({
      do: fc.constant('sensor' as const),
      nth,
      which: fc.nat(3),
      how: fc.constantFrom('stuck' as const, 'drifts' as const, 'absent' as const),
    }),
  );
}

/** What one run is made from: a fresh plan, the kinds of departures it may have, and dice for what is done with others. */
export interface Draw {
  readonly fresh: Plan;
  readonly kinds: readonly ItemKind[];
  readonly dice: readonly number[];
}

export function drawArbitrary(plans: PlanArbitrary): fc.Arbitrary<Draw> {
  return fc.record({
    fresh: plans,
    kinds: fc.subarray([...ITEM_KINDS], { minLength: 1 }),
    dice: fc.array(fc.nat(0xffff), { minLength: 8, maxLength: 8 }),
  });
}

/** The draw of one run of a campaign: the same for the same seed and run, on any machine. */
export function drawOf(draws: fc.Arbitrary<Draw>, seed: number, run: number): Draw {
  // Unbiased: fast-check's bias towards small values would keep most runs near the beginning of the session.
  const numbers = { seed: mixed(seed, run), numRuns: 1, endOnFailure: true } as const;
  return fc.sample(fc.noBias(draws), numbers)[0]!;
}

/** Neighbouring runs get unrelated seeds (the finaliser of MurmurHash3). */
function mixed(seed: number, run: number): number {
  let h = Math.imul(seed ^ Math.imul(run + 1, 0x9e3779b1), 0x85ebca6b);
  h = Math.imul(h ^ (h >>> 13), 0xc2b2ae35);
  return h ^ (h >>> 16);
}

/** A plan with only the items its kinds and its liar allow. */
export function allowed(plan: Plan, kinds: readonly ItemKind[]): Plan {
  const may = (item: Item): boolean =>
    kinds.includes(item.do) && (plan.liar !== null || !LIES.has(item.do));
  return { ...plan, items: plan.items.filter(may) };
}
