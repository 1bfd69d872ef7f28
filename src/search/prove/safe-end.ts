// Whether a safe end stays within reach, from every state any run can come to: contactors open, at most 60 V, unlocked; or,
// behind a contactor that stayed closed, locked and told. No fairness is assumed, and none is promised: that a way
// exists does not say that it is taken.
import { alwaysReachable, type Reachability } from '../explore/reachability.ts';
import type { ExploreOptions } from '../explore/explore.ts';
import { and, or, type Term } from '../model/build.ts';
import type { Model } from '../model/form.ts';
import { stepsOf } from './steps.ts';
import type { SafeEnd } from './prove-result.ts';
import type { System } from './system.ts';

const SAFE_END = 'from everywhere a safe end can be reached';

function isSafeEnd({ is }: System): Term {
  const open = and(is.contactor.is('open'), is.volts.is('safe'), is.lock.is('unlocked'));
  const welded = and(is.welded.is('stuck'), is.weld.is('told'), is.lock.is('locked'));
  return or(open, welded);
}

export async function safeEnd(
  model: Model,
  system: System,
  options: ExploreOptions,
): Promise<SafeEnd> {
  const found = await alwaysReachable(model, SAFE_END, isSafeEnd(system).expr, options);
  return toldOf(found, model, system);
}

function toldOf({ goal, stuck }: Reachability, model: Model, system: System): SafeEnd {
  if (goal.verdict === 'undecided') {
    return { verdict: 'inconclusive', stuck: null, counterexample: null };
  }
  if (goal.verdict === 'holds') return { verdict: 'holds', stuck: 0, counterexample: null };
  const trace = goal.trace!;
  const counterexample = {
    length: trace.steps.length,
    steps: stepsOf(trace, model, system),
    trace: null,
  };
  return { verdict: 'broken', stuck: stuck!, counterexample };
}
