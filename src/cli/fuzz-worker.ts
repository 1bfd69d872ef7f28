// Runs in a worker thread: plays the plans of its share, in order.
import type { Plan } from '../search/fuzz/plan.ts';
import { Runner, type Outcome } from '../search/fuzz/subject.ts';
import { subjectOf, type SubjectWords } from './fuzz-subject.ts';

let runner: Promise<Runner> | null = null;

export default async function fuzzTask(task: {
  words: SubjectWords;
  plans: readonly Plan[];
}): Promise<readonly Outcome[]> {
  runner ??= subjectOf(task.words).then((subject) => new Runner(subject));
  const own = await runner;
  return task.plans.map((plan) => own.run(plan));
}
