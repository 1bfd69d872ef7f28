// Plans at random, through fast-check: what it generates it can also shrink.
import {
  array,
  constant,
  constantFrom,
  integer,
  nat,
  noBias,
  oneof,
  record,
  sample,
  subarray,
  type Arbitrary,
} from 'fast-check';
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
function edges_ms(delays_ms: readonly number[]): number[] {
  const all = new Set(FREE_WAITS_ms);
  for (const ms of delays_ms) for (const off of [-1, 0, 1]) all.add(ms + off);
  return [...all].toSorted((a, b) => a - b);
}

export type PlanArbitrary = Arbitrary<Plan>;

/** `delays_ms`: every deadline the two sides know. */
export function planArbitrary(delays_ms: readonly number[]): PlanArbitrary {
  return record({
    pack: record({
      voltage_V: constantFrom(350, 240, 399, 720),
      asks_A: constantFrom(100, 6, 190, 1, 400, 0),
      limit_V: constantFrom(420, 800, 300),
      limit_A: constantFrom(200, 50, 500, 1),
    }),
    station: record({
      limit_V: constantFrom(500, 1000, 200),
      limit_A: constantFrom(200, 30, 500, 1),
      limit_W: constantFrom(100_000, 10_000, 1_000_000, 1),
    }),
    demands: integer({ min: 1, max: 5 }),
    sessions: constantFrom(1, 1, 1, 2),
    liar: constantFrom(null, 'vehicle' as const, 'charger' as const),
    items: array(itemArbitrary(edges_ms(delays_ms)), { maxLength: MOST_ITEMS, size: 'max' }),
  });
}

function itemArbitrary(waits_ms: readonly number[]): Arbitrary<Item> {
  const side = constantFrom('vehicle' as const, 'charger' as const);
  const nth = nat(LATEST);
  const pick = nat(PICKS);
  const ms = constantFrom(...waits_ms);
  const most = Math.max(COMMANDS.vehicle.length, COMMANDS.charger.length) - 1;
  return oneof<Arbitrary<Item>[]>(
    record({ do: constant('choose' as const), side, nth, pick }),
    record({ do: constant('wait' as const), side, nth, ms }),
    record({ do: constant('say' as const), side, nth, pick }),
    record({
      do: constant('ask' as const),
      nth,
      A: constantFrom(0, 0.1, 1, 20, 150, 500, 3000),
      V: constantFrom(0, 59, 61, 300, 349, 400, 600, 1500),
    }),
    record({
      do: constant('happen' as const),
      what: constantFrom(...HAPPENINGS),
      nth,
      ms,
    }),
    record({ do: constant('delay' as const), nth, ms }),
    record({ do: constant('lie' as const), nth, message: nat(40), pick }),
    record({ do: constant('alter' as const), nth, fact: nat(6), pick: nat(6) }),
    record({ do: constant('drive' as const), nth, command: nat(most) }),
    record({ do: constant('network' as const), nth, how: constantFrom(...NETWORK) }),
    record({
      do: constant('sensor' as const),
      nth,
      which: nat(3),
      how: constantFrom('stuck' as const, 'drifts' as const, 'absent' as const),
    }),
  );
}

/** What one run is made from: a fresh plan, the kinds of departures it may have, and dice for what is done with others. */
export interface Draw {
  readonly fresh: Plan;
  readonly kinds: readonly ItemKind[];
  readonly dice: readonly number[];
}

export function drawArbitrary(plans: PlanArbitrary): Arbitrary<Draw> {
  return record({
    fresh: plans,
    kinds: subarray([...ITEM_KINDS], { minLength: 1 }),
    dice: array(nat(0xffff), { minLength: 8, maxLength: 8 }),
  });
}

/** The draw of one run of a campaign: the same for the same seed and run, on any machine. */
export function drawOf(draws: Arbitrary<Draw>, seed: number, run: number): Draw {
  // Unbiased: fast-check's bias towards small values would keep most runs near the beginning of the session.
  const numbers = { seed: mixed(seed, run), numRuns: 1, endOnFailure: true } as const;
  return sample(noBias(draws), numbers)[0]!;
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
