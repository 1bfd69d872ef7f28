// Who plays the plans: this thread, or several with a share each.
import type { Team } from '../search/fuzz/campaign.ts';
import type { Plan } from '../search/fuzz/plan.ts';
import type { Outcome, Runner } from '../search/fuzz/subject.ts';
import type { SubjectWords } from './fuzz-subject.ts';

export interface ManagedTeam extends Team {
  stop(): Promise<void>;
}

/** One worker is this thread itself. */
export async function teamOf(
  workers: number,
  words: SubjectWords,
  runner: Runner,
): Promise<ManagedTeam> {
  if (workers === 1) return alone(runner);
  const { Tinypool } = await import('tinypool');
  // A pool of one thread each: a worker's share always comes to the same thread, which knows what it has reached.
  const pools = Array.from(
    { length: workers },
    () =>
      new Tinypool({
        filename: new URL('./fuzz-worker.js', import.meta.url).href,
        minThreads: 1,
        maxThreads: 1,
      }),
  );
  return {
    workers,
    run: (worker, plans) => pools[worker]!.run({ words, plans }) as Promise<readonly Outcome[]>,
    stop: async () => {
      await Promise.all(pools.map((pool) => pool.destroy()));
    },
  };
}

function alone(runner: Runner): ManagedTeam {
  return {
    workers: 1,
    run: async (_worker, plans: readonly Plan[]) => {
      const outcomes = plans.map((plan) => runner.run(plan));
      // Whoever waits for Ctrl-C or draws the progress has a turn.
      await new Promise((resolve) => {
        setImmediate(resolve);
      });
      return outcomes;
    },
    stop: async () => {},
  };
}
