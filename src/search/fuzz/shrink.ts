// A plan that fails, made as simple as it gets while it fails alike: ordinary figures first, then fewer items, then what
// fast-check makes of the rest.
import type { PlanArbitrary } from './arbitrary.ts';
import { PLAIN, type Plan } from './plan.ts';

/** Whether a plan still fails, and with how long a trace; null when it does not. */
export type Fails = (plan: Plan) => Promise<number | null>;

export interface Shrunk {
  readonly plan: Plan;
  /** Plans tried. */
  readonly tries: number;
}

const MOST_TRIES = 600;

export async function shrink(failing: Plan, plans: PlanArbitrary, fails: Fails): Promise<Shrunk> {
  const shrinker = new Shrinker(failing, plans, fails);
  return shrinker.run();
}

class Shrinker {
  #plan: Plan;
  #length = Infinity;
  #tries = 0;
  readonly #plans: PlanArbitrary;
  readonly #fails: Fails;

  constructor(plan: Plan, plans: PlanArbitrary, fails: Fails) {
    this.#plan = plan;
    this.#plans = plans;
    this.#fails = fails;
  }

  async run(): Promise<Shrunk> {
    this.#length = (await this.#fails(this.#plan)) ?? Infinity;
    for (let before: Plan | null = null; before !== this.#plan && this.#tries < MOST_TRIES;) {
      before = this.#plan;
      await this.#ordinary();
      await this.#fewerItems();
      await this.#earlier();
      await this.#simpler();
    }
    return { plan: this.#plan, tries: this.#tries };
  }

  /** Taken when it fails with no longer a trace. */
  async #try(plan: Plan): Promise<boolean> {
    if (this.#tries >= MOST_TRIES) return false;
    this.#tries += 1;
    const length = await this.#fails(plan);
    if (length === null || length > this.#length) return false;
    this.#plan = plan;
    this.#length = length;
    return true;
  }

  async #ordinary(): Promise<void> {
    for (const key of ['liar', 'sessions', 'station', 'pack'] as const) {
      const same = JSON.stringify(this.#plan[key]) === JSON.stringify(PLAIN[key]);
      if (!same) await this.#try({ ...this.#plan, [key]: PLAIN[key] });
    }
    if (this.#plan.demands > 1) await this.#try({ ...this.#plan, demands: 1 });
  }

  async #fewerItems(): Promise<void> {
    for (let size = this.#plan.items.length; size >= 1; size = Math.floor(size / 2)) {
      for (let from = 0; from < this.#plan.items.length;) {
        const { items } = this.#plan;
        const fewer = [...items.slice(0, from), ...items.slice(from + size)];
        if (!(await this.#try({ ...this.#plan, items: fewer }))) from += size;
      }
    }
  }

  /** What happens late in the session may as well happen as early as it can. */
  async #earlier(): Promise<void> {
    for (let index = 0; index < this.#plan.items.length; index += 1) {
      const { nth } = this.#plan.items[index]!;
      for (let sooner = 0; sooner < nth; sooner += 1) {
        const items = this.#plan.items.with(index, { ...this.#plan.items[index]!, nth: sooner });
        if (await this.#try({ ...this.#plan, items })) break;
      }
    }
  }

  async #simpler(): Promise<void> {
    for (let found = true; found;) {
      found = false;
      for (const { value } of this.#plans.shrink(this.#plan, undefined)) {
        if (this.#tries >= MOST_TRIES) return;
        found = await this.#try(value);
        if (found) break;
      }
    }
  }
}
