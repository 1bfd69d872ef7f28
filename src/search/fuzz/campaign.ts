// A campaign: rounds of plans, each round made from what all rounds before it reached. A round is the same whatever the
// number of workers, so that a seed and a number of runs decide everything.
import { drawArbitrary, drawOf, planArbitrary, type PlanArbitrary } from './arbitrary.ts';
import type { Charge } from './judge.ts';
import { nextPlan } from './mutate.ts';
import type { Plan } from './plan.ts';
import { shrink } from './shrink.ts';
import type { Outcome } from './subject.ts';

/** Plays plans in order; a worker tells what it reached for the first time. */
export interface Team {
  readonly workers: number;
  /** The outcomes of one worker's share of a round. */
  run(worker: number, plans: readonly Plan[]): Promise<readonly Outcome[]>;
}

export interface CampaignOptions {
  readonly seed: number;
  readonly runs: number;
  /** After so many seconds no new round begins; null for no limit. */
  readonly time_s: number | null;
  readonly delays_ms: readonly number[];
  /** Numbers of things to reach. */
  readonly size: number;
  readonly signal?: AbortSignal;
  readonly onProgress?: (progress: Progress) => void;
}

export interface Progress {
  readonly runs: number;
  readonly messages: number;
  readonly reached: number;
  readonly seconds: number;
}

export interface Found extends Charge {
  /** The run that found it. */
  readonly run: number;
  readonly plan: Plan;
  readonly shrunk: Plan;
  /** Plans tried to shrink it. */
  readonly tries: number;
}

export interface CampaignResult {
  readonly runs: number;
  readonly messages: number;
  readonly seconds: number;
  /** 1 at the number of each thing reached. */
  readonly reached: Uint8Array;
  readonly found: readonly Found[];
  readonly stoppedBy: 'runs' | 'time' | 'finding' | 'interrupted';
}

const ROUND = 256;
/** What is found beyond these is likely the same mistake in another dress. */
const MOST_FOUND = 4;

export async function campaign(team: Team, options: CampaignOptions): Promise<CampaignResult> {
  return new Campaign(team, options).run();
}

class Campaign {
  readonly #team: Team;
  readonly #options: CampaignOptions;
  readonly #plans: PlanArbitrary;
  readonly #draws: ReturnType<typeof drawArbitrary>;
  readonly #corpus: Plan[] = [];
  readonly #reached: Uint8Array;
  readonly #failing = new Map<string, { charge: Charge; plan: Plan; run: number }>();
  readonly #started_ms = performance.now();
  #runs = 0;
  #messages = 0;
  #count = 0;

  constructor(team: Team, options: CampaignOptions) {
    this.#team = team;
    this.#options = options;
    this.#plans = planArbitrary(options.delays_ms);
    this.#draws = drawArbitrary(this.#plans);
    this.#reached = new Uint8Array(options.size);
  }

  async run(): Promise<CampaignResult> {
    const { runs } = this.#options;
    let stoppedBy = this.#stops();
    while (stoppedBy === null) {
      await this.#round(Math.min(ROUND, runs - this.#runs));
      stoppedBy = this.#stops();
    }
    const found: Found[] = [];
    for (const failing of [...this.#failing.values()].slice(0, MOST_FOUND)) {
      found.push(await this.#shrink(failing));
    }
    return {
      runs: this.#runs,
      messages: this.#messages,
      seconds: this.#seconds(),
      reached: this.#reached,
      found,
      stoppedBy,
    };
  }

  #stops(): CampaignResult['stoppedBy'] | null {
    const { runs, time_s, signal } = this.#options;
    if (this.#failing.size > 0) return 'finding';
    if (signal?.aborted === true) return 'interrupted';
    if (this.#runs >= runs) return 'runs';
    return time_s !== null && this.#seconds() >= time_s ? 'time' : null;
  }

  async #round(size: number): Promise<void> {
    const { seed } = this.#options;
    const first = this.#runs;
    const plans = Array.from({ length: size }, (_, index) =>
      nextPlan(drawOf(this.#draws, seed, first + index), this.#corpus),
    );
    const share = Math.ceil(size / this.#team.workers);
    const shares = Array.from({ length: this.#team.workers }, (_, worker) =>
      plans.slice(worker * share, (worker + 1) * share),
    );
    const outcomes = await Promise.all(
      shares.map((own, worker) => (own.length === 0 ? [] : this.#team.run(worker, own))),
    );
    for (const [index, outcome] of outcomes.flat().entries()) this.#take(plans[index]!, outcome);
    const { onProgress } = this.#options;
    onProgress?.({
      runs: this.#runs,
      messages: this.#messages,
      reached: this.#count,
      seconds: this.#seconds(),
    });
  }

  #take(plan: Plan, { charges, news, messages }: Outcome): void {
    const run = this.#runs;
    this.#runs += 1;
    this.#messages += messages;
    let isNew = false;
    for (const number of news) {
      if (this.#reached[number] === 1) continue;
      this.#reached[number] = 1;
      this.#count += 1;
      isNew = true;
    }
    if (isNew) this.#corpus.push(plan);
    for (const charge of charges) {
      const key = keyOf(charge);
      const shorter = this.#failing.get(key)?.charge.messages ?? Infinity;
      // Of all sessions of a round that fail alike, the shortest is made simple.
      if (charge.messages < shorter) this.#failing.set(key, { charge, plan, run });
    }
  }

  async #shrink({
    charge,
    plan,
    run,
  }: {
    charge: Charge;
    plan: Plan;
    run: number;
  }): Promise<Found> {
    const key = keyOf(charge);
    let last = charge;
    const fails = async (one: Plan): Promise<number | null> => {
      const [outcome] = await this.#team.run(0, [one]);
      const same = outcome!.charges.find((found) => keyOf(found) === key);
      if (same === undefined) return null;
      last = same;
      return same.messages;
    };
    const { plan: shrunk, tries } = await shrink(plan, this.#plans, fails);
    await fails(shrunk);
    return { ...last, run, plan, shrunk, tries };
  }

  #seconds(): number {
    return (performance.now() - this.#started_ms) / 1000;
  }
}

/** Findings of one rule against the same sides are one finding. */
function keyOf({ rule, owners }: Charge): string {
  return `${rule} ${[...owners].toSorted().join()}`;
}
