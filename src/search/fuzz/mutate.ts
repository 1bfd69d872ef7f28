// The next plan to try: a fresh one, or one that once reached something new, changed.
import { allowed, type Draw } from './arbitrary.ts';
import type { Item, Plan } from './plan.ts';

const MOST_ITEMS = 14;

/** `corpus`: plans that reached something new, in the order they came. */
export function nextPlan({ fresh, kinds, dice }: Draw, corpus: readonly Plan[]): Plan {
  const new_ = allowed(fresh, kinds);
  const [way, which, other, place, shift] = dice as [number, number, number, number, number];
  // One in four is fresh, and among the others those that came last are taken more often.
  if (corpus.length === 0 || way % 4 === 0) return new_;
  const base = corpus[pickLate(which, corpus.length)]!;
  switch (way % 6) {
    case 0:
      return { ...base, items: joined(base.items, new_.items.slice(0, 2)) };
    case 1:
      return allowed({ ...base, liar: fresh.liar, items: joined(base.items, fresh.items) }, kinds);
    case 2: {
      const second = corpus[pickLate(other, corpus.length)]!;
      return { ...base, items: joined(base.items, second.items) };
    }
    case 3:
      return { ...base, items: base.items.filter((_, index) => index !== place % MOST_ITEMS) };
    case 4:
      return { ...base, items: base.items.map((item) => moved(item, (shift % 7) - 3)) };
    default:
      return { ...new_, items: joined(base.items, new_.items.slice(0, 1)), liar: base.liar };
  }
}

function pickLate(dice: number, length: number): number {
  const share = dice / 0x10000;
  return Math.floor(Math.sqrt(share) * length);
}

function joined(first: readonly Item[], second: readonly Item[]): readonly Item[] {
  return [...first, ...second].slice(0, MOST_ITEMS);
}

/** The same departure a little earlier or later. */
function moved(item: Item, by: number): Item {
  return { ...item, nth: Math.max(0, item.nth + by) };
}
