// Sessions at random for a gate: one thread, a budget, and a seed that the commit decides, so that a run can be had again.
import type { FuzzTask } from '../gate/gate.ts';
import type { Check, Problem } from '../report/checks.ts';
import { count } from '../report/figures.ts';
import { campaign, type CampaignResult } from '../search/fuzz/campaign.ts';
import { delaysOf, Runner } from '../search/fuzz/subject.ts';
import { FUZZ_RUNS } from './fuzz-options.ts';
import { subjectOf } from './fuzz-subject.ts';
import { teamOf } from './fuzz-team.ts';

export async function gateFuzz(task: FuzzTask): Promise<Check> {
  const { protocol, files, budget, seed, signal } = task;
  const words = { protocol, ...files };
  const subject = await subjectOf(words);
  const runner = new Runner(subject);
  const team = await teamOf(1, words, runner);
  try {
    const came = await campaign(team, {
      seed,
      // A budget of time alone is as many sessions as fit.
      runs: budget.runs ?? (budget.time_s === undefined ? FUZZ_RUNS : Number.MAX_SAFE_INTEGER),
      time_s: budget.time_s ?? null,
      delays_ms: delaysOf(subject),
      size: runner.reach.size,
      ...(signal === undefined ? {} : { signal }),
    });
    return checkOf(task, came);
  } finally {
    runner.close();
    await team.stop();
  }
}

function checkOf({ suite, files, seed }: FuzzTask, { found, runs }: CampaignResult): Check {
  const effort = `${count(runs, 'random session')}, seed ${seed}`;
  const problems = found.map(({ rule, owners, says, run }): Problem => ({
    rule,
    level: 'error',
    says: `Session ${run} of seed ${seed}: ${says}`,
    file: files.vehicle ?? files.charger ?? null,
    where: '',
    identity: ['fuzz', suite, rule, ...owners],
    steps: [],
  }));
  const broken = [...new Set(found.map(({ rule }) => rule))].join(', ');
  return {
    suite,
    name: 'fuzz',
    outcome: found.length > 0 ? 'failed' : 'passed',
    says: found.length > 0 ? `${effort}, broke ${broken}` : `${effort}: nothing found`,
    problems,
  };
}
