// Scenarios in code: whatever is not said is as usual.
import type { FileResult } from '../../src/rules/result.ts';
import { replayTrace } from '../../src/replay/replay.ts';
import { runScenario, traceOf, type ScenarioRun } from '../../src/simulate/run-scenario.ts';
import { completeScenario, type ScenarioText } from '../../src/simulate/scenario.ts';
import { bothOf, machines } from '../support/machines.ts';

/** A short session: half a percent of a pack of 96 cells. */
const SHORT = { pack: { stateOfCharge_percent: 50 }, target_percent: 50.5 } as const;

export function run(text: ScenarioText): ScenarioRun {
  return runScenario(completeScenario({ vehicle: SHORT, ...text }), bothOf(text.protocol));
}

export function replay(simulated: ScenarioRun): Promise<FileResult> {
  const settings = { machines, strict: false, crashDeadline_ms: 100 };
  return replayTrace(traceOf(simulated), 'simulated', settings);
}

/** Verdict of every rule, by its name. */
export function rulesOf({ sessions }: FileResult): Record<string, string> {
  return Object.fromEntries(sessions[0]!.rules.map(({ rule, verdict }) => [rule, verdict]));
}
