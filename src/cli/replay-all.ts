// Many files over several cores, told in the order they were given whatever finishes first.
import type { Engine, OnSession, ReplaySettings } from './engine.ts';
import type { Entry } from './find-captures.ts';
import { faulty, replayOne, unfinished, type Outcome } from './replay-one.ts';

export interface AllOptions {
  settings: ReplaySettings & { debug: boolean };
  jobs: number;
  interrupted: AbortSignal;
  /** A session the moment it ends; called only where files run one after another. */
  onSession?: (path: string, ...session: Parameters<OnSession>) => void;
  onFinished?: () => void;
}

/**
 * A worker is worth its start only with this much to read: it loads and warms up everything anew, which took a
 * second of processor time where reading 8 MB of captures took three.
 */
const WORTH_A_WORKER_bytes = 8 * 1024 * 1024;

/** Files to replay at once where the user does not say. */
export function jobsFor(entries: Entry[], cores: number): number {
  const bytes = entries.reduce((sum, entry) => sum + entry.bytes, 0);
  return Math.max(1, Math.min(cores, entries.length, Math.floor(bytes / WORTH_A_WORKER_bytes)));
}

/** Whether sessions are told one by one as they end, which workers do not. */
export function runsInOrder(entries: Entry[], engine: Engine, jobs: number): boolean {
  return Math.min(jobs, entries.length) < 2 || !engine.inWorkers;
}

/** How far ahead of the file that is told next the workers may run, in files a worker. */
const AHEAD = 8;

/** One outcome for each entry, in order. After an interruption the files not yet finished are told so. */
export async function* replayAll(
  entries: Entry[],
  engine: Engine,
  options: AllOptions,
): AsyncGenerator<Outcome, void, void> {
  const workers = await workersFor(entries, engine, options);
  const running: { path: string; outcome: Promise<Outcome>; done: Outcome | null }[] = [];
  const interrupted = whenAborted(options.interrupted);
  let next = 0;
  const ahead = workers === null ? 1 : options.jobs * AHEAD;
  const run = workers?.run ?? ((entry: Entry) => inThisThread(entry, engine, options));
  try {
    for (let index = 0; index < entries.length; index += 1) {
      while (next < entries.length && next < index + ahead && !options.interrupted.aborted) {
        const entry = entries[next]!;
        const task = { path: entry.path, outcome: run(entry), done: null as Outcome | null };
        void task.outcome.then((outcome) => {
          task.done = outcome;
          options.onFinished?.();
        });
        running[next] = task;
        next += 1;
      }
      const task = running[index];
      if (task !== undefined) await Promise.race([task.outcome, interrupted]);
      yield task?.done ?? unfinished(entries[index]!.path);
      delete running[index];
    }
  } finally {
    // After an interruption what was finished is told first; the process ends without them.
    const stopped = workers?.stop();
    if (!options.interrupted.aborted) await stopped;
  }
}

function inThisThread(
  entry: Entry,
  engine: Engine,
  { settings, onSession }: AllOptions,
): Promise<Outcome> {
  return replayOne(entry, settings, engine, (session, epoch, timeline) =>
    onSession?.(entry.path, session, epoch, timeline),
  );
}

interface Workers {
  run: (entry: Entry) => Promise<Outcome>;
  stop: () => Promise<void>;
}

async function workersFor(
  entries: Entry[],
  engine: Engine,
  { jobs, settings }: AllOptions,
): Promise<Workers | null> {
  if (runsInOrder(entries, engine, jobs)) return null;
  const threads = Math.min(jobs, entries.length);
  const { Tinypool } = await import('tinypool');
  const pool = new Tinypool({
    filename: new URL('./replay-worker.js', import.meta.url).href,
    minThreads: threads,
    maxThreads: threads,
  });
  return {
    run: async (entry) => {
      try {
        return (await pool.run({ entry, settings })) as Outcome;
      } catch (error) {
        // The worker itself died, for example of memory.
        return faulty(entry.path, error, settings.debug);
      }
    },
    stop: () => pool.destroy(),
  };
}

function whenAborted(signal: AbortSignal): Promise<void> {
  return new Promise((resolve) => {
    if (signal.aborted) resolve();
    else signal.addEventListener('abort', () => resolve(), { once: true });
  });
}
