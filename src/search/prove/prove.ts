// Every sequence, not a sample: both sides' machines, the link, the plant and faults, searched to the end or to a limit.
import type { SideMachine } from '../../machine/convention.ts';
import { compileTable } from '../../machine/table.ts';
import type { Protocol } from '../../protocols/index.ts';
import type { Rule } from '../../rules/rule.ts';
import type { Side } from '../../trace/observation.ts';
import { explore, type Limits, type Progress, type Verdict } from '../explore/explore.ts';
import type { Model } from '../model/form.ts';
import { assumptions } from './assumptions.ts';
import { coverageOf } from './coverage.ts';
import { modelledRules, RELEVANT, RESIDUAL, unmodelledRules } from './facts.ts';
import { productOf } from './product.ts';
import type { ProveResult, RuleProof } from './prove-result.ts';
import { recordingOf, type Recording } from './recording.ts';
import { safeEnd } from './safe-end.ts';
import { withSharedTimers } from './shared-timers.ts';
import { stepsOf } from './steps.ts';
import type { System } from './system.ts';
import { untimed, UNTIMED } from './untimed.ts';

export interface ProveOptions {
  vehicle: SideMachine;
  charger: SideMachine;
  protocol: Protocol;
  /** Faults a run may have: 0, 1 or 2. */
  faults: number;
  /** Judge this side alone, by its own duties, against a peer that may do anything. */
  alone?: Side;
  /** Without clocks: timers run out at any time, and no deadline is judged. */
  untimed?: boolean;
  /** Search, too, whether a safe end stays within reach from everywhere; takes about as long again. */
  safeEnd?: boolean;
  limits: Limits;
  /** Stop at the first breach found: whether other rules hold is then not told. */
  stopAtFirst?: boolean;
  signal?: AbortSignal;
  /** Called with the model before it is searched. */
  onModel?: (model: Model) => void | Promise<void>;
  onProgress?: (progress: Progress) => void;
  /** Called with each counterexample as a trace; gives the file it was written to, if it was. */
  onBroken?: (rule: string, recording: Recording) => Promise<string | null>;
}

/** The model that `prove` searches. */
function modelOf(options: ProveOptions): { model: Model; system: System } {
  const tables = {
    vehicle: withSharedTimers(compileTable(options.vehicle)),
    charger: withSharedTimers(compileTable(options.charger)),
  };
  const { faults, alone } = options;
  const product = productOf(tables, options.protocol, {
    faults,
    ...(alone === undefined ? {} : { alone }),
  });
  return options.untimed === true ? { ...product, model: untimed(product.model) } : product;
}

/** Throws an InputError when a machine is too large for tables. */
export async function prove(options: ProveOptions): Promise<ProveResult> {
  const { model, system } = modelOf(options);
  await options.onModel?.(model);
  const found = await explore(model, {
    limits: options.limits,
    stopAtFirst: options.stopAtFirst === true,
    ...(options.signal === undefined ? {} : { signal: options.signal }),
    ...(options.onProgress === undefined ? {} : { onProgress: options.onProgress }),
  });
  const stoppedBy = found.stoppedBy ?? null;
  const { alone } = options;
  const noted = (set: string, index: number): boolean => found.notes.get(set)![index] === 1;
  const rules = modelledRules.map((rule, index) =>
    ruleProof(rule, {
      alone,
      found: found.invariants.find(({ name }) => name === rule.id)!,
      relevant: noted(RELEVANT, index),
      stoppedBy,
      model,
      system,
    }),
  );
  await record(rules, found.invariants, { ...options, model, system });
  const { limits, signal } = options;
  const ends =
    options.safeEnd === true
      ? await safeEnd(model, system, { limits, ...(signal === undefined ? {} : { signal }) })
      : null;
  const others = unmodelledRules.map(({ id, needs }): RuleProof => ({
    rule: id,
    verdict: 'not modelled',
    reason: `needs amounts that a finite model of the dialogue does not have: ${needs}`,
    counterexample: null,
  }));
  return {
    schemaVersion: 1,
    protocol: options.protocol.dialect.protocol,
    verdict: worstOf(ends === null ? rules : [...rules, ends]),
    judged: alone ?? 'both',
    faults: options.faults,
    rules: [...rules, ...others],
    states: found.states,
    transitions: found.transitions,
    depth: found.depth,
    seconds: found.seconds,
    bytesPerState: found.bytesPerState,
    stoppedBy,
    assumes: [...(options.untimed === true ? [UNTIMED] : []), ...assumptions(options)],
    coverage: {
      vehicle: coverageOf(system.vehicle.machine, found.notes.get('vehicle')!),
      charger: coverageOf(system.charger.machine, found.notes.get('charger')!),
    },
    safeEnd: ends,
    residual: modelledRules.filter((_, index) => noted(RESIDUAL, index)).map(({ id }) => id),
    neverTaken: neverTaken(found.fired),
  };
}

/** Hands out each counterexample as a trace. */
async function record(
  rules: readonly RuleProof[],
  found: readonly Verdict[],
  { onBroken, protocol, model, system }: ProveOptions & { model: Model; system: System },
): Promise<void> {
  if (onBroken === undefined) return;
  for (const { rule, counterexample } of rules) {
    if (counterexample === null) continue;
    const trace = found.find(({ name }) => name === rule)!.trace!;
    const says = `a shortest way to break ${rule}`;
    const recorded = { model, system, protocol: protocol.dialect.protocol, says };
    counterexample.trace = await onBroken(rule, recordingOf(trace, recorded));
  }
}

/** From the worst. */
const VERDICTS = ['broken', 'inconclusive', 'vacuous', 'holds'] as const;

function worstOf(rules: readonly Pick<RuleProof, 'verdict'>[]): ProveResult['verdict'] {
  return VERDICTS.find((one) => rules.some(({ verdict }) => verdict === one)) ?? 'inconclusive';
}

interface Searched {
  readonly alone: Side | undefined;
  readonly found: Verdict;
  readonly relevant: boolean;
  readonly stoppedBy: string | null;
  readonly model: Model;
  readonly system: System;
}

function ruleProof(
  { id: rule, owners }: Rule,
  { alone, found, relevant, stoppedBy, model, system }: Searched,
): RuleProof {
  const told = (verdict: RuleProof['verdict'], reason: string): RuleProof => ({
    rule,
    verdict,
    reason,
    counterexample: null,
  });
  if (alone !== undefined && !owners.includes(alone)) {
    return told('not modelled', `no duty of the ${alone}: only the other side can break it`);
  }
  if (found.verdict === 'broken') {
    const trace = found.trace!;
    const { length } = trace.steps;
    const reason = `broken after ${length} steps; no shorter way leads there`;
    const counterexample = { length, steps: stepsOf(trace, model, system), trace: null };
    return { ...told('broken', reason), counterexample };
  }
  if (found.verdict === 'undecided') {
    const reason = `not broken in what was searched; the search stopped at a limit (${stoppedBy})`;
    return told('inconclusive', reason);
  }
  return relevant
    ? told('holds', 'in every state')
    : told('vacuous', 'relevant in no step of any run: nothing here could break it');
}

/** A step is taken whether or not it sends something with it. */
function neverTaken(fired: readonly { command: string; count: number }[]): string[] {
  const counts = new Map<string, number>();
  for (const { command, count } of fired) {
    const step = command.replace(/, and sends$/, '');
    counts.set(step, (counts.get(step) ?? 0) + count);
  }
  return [...counts].filter(([, count]) => count === 0).map(([step]) => step);
}
