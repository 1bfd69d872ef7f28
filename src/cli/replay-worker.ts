// Runs in a worker thread: the same as replaying a file in the main one.
import { bundledEngine } from './bundled-engine.ts';
import type { ReplaySettings } from './engine.ts';
import type { Entry } from './find-captures.ts';
import { replayOne, type Outcome } from './replay-one.ts';

export default function replayTask(task: {
  entry: Entry;
  settings: ReplaySettings & { debug: boolean };
}): Promise<Outcome> {
  return replayOne(task.entry, task.settings, bundledEngine);
}
