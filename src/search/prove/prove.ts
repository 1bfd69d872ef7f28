// Every sequence, not a sample: both sides' machines, the link, the plant and faults, searched to the end or to a limit.
import type { SideMachine } from '../../machine/convention.ts';
import { compileTable } from '../../machine/table.ts';
import type { Protocol } from '../../protocols/index.ts';
import { explore, type Limits, type Progress } from '../explore/explore.ts';
import type { Trace } from '../explore/trace.ts';
import type { Model } from '../model/form.ts';
import { assumptions } from './assumptions.ts';
import { modelledRules, unmodelledRules } from './facts.ts';
import { productOf } from './product.ts';
import { withSharedTimers } from './shared-timers.ts';
import type { System } from './system.ts';

export interface ProveOptions {
  vehicle: SideMachine;
  charger: SideMachine;
  protocol: Protocol;
  /** Faults a run may have: 0, 1 or 2. */
  faults: number;
  limits: Limits;
  signal?: AbortSignal;
  onProgress?: (progress: Progress) => void;
}

export interface ProveStep {
  /** Seconds since the start, by the ticks of the model. */
  at_s: number;
  what: string;
  /** The message sent, in words; null for a step without one. */
  message: string | null;
}

export interface RuleProof {
  rule: string;
  verdict: 'holds' | 'broken' | 'inconclusive' | 'not modelled';
  reason: string;
  /** A shortest way to the breach. */
  counterexample: ProveStep[] | null;
}

export interface ProveResult {
  schemaVersion: 1;
  protocol: string;
  verdict: 'holds' | 'broken' | 'inconclusive';
  rules: RuleProof[];
  states: number;
  transitions: number;
  depth: number;
  seconds: number;
  bytesPerState: number;
  /** The limit that ended the search before its end. */
  stoppedBy: string | null;
  assumes: string[];
  /** Steps of the model that no run ever took. */
  neverTaken: string[];
}

/** The model that `prove` searches. */
function modelOf(options: Pick<ProveOptions, 'vehicle' | 'charger' | 'protocol' | 'faults'>): {
  model: Model;
  system: System;
} {
  const tables = {
    vehicle: withSharedTimers(compileTable(options.vehicle)),
    charger: withSharedTimers(compileTable(options.charger)),
  };
  return productOf(tables, options.protocol, { faults: options.faults });
}

/** Throws an InputError when a machine is too large for tables. */
export async function prove(options: ProveOptions): Promise<ProveResult> {
  const { model, system } = modelOf(options);
  const found = await explore(model, {
    limits: options.limits,
    ...(options.signal === undefined ? {} : { signal: options.signal }),
    ...(options.onProgress === undefined ? {} : { onProgress: options.onProgress }),
  });
  const stoppedBy = found.stoppedBy ?? null;
  const rules = modelledRules.map((rule): RuleProof => {
    const own = found.invariants.find(({ name }) => name === rule.id)!;
    if (own.verdict === 'broken') {
      const steps = stepsOf(own.trace!, system);
      const reason = `broken after ${steps.length} steps; no shorter way leads there`;
      return { rule: rule.id, verdict: 'broken', reason, counterexample: steps };
    }
    return own.verdict === 'holds'
      ? { rule: rule.id, verdict: 'holds', reason: 'in every state', counterexample: null }
      : {
          rule: rule.id,
          verdict: 'inconclusive',
          reason: `not broken in what was searched; the search stopped at a limit (${stoppedBy})`,
          counterexample: null,
        };
  });
  const others = unmodelledRules.map(({ id, needs }): RuleProof => ({
    rule: id,
    verdict: 'not modelled',
    reason: `needs amounts or signals a finite model of the dialogue does not have: ${needs}`,
    counterexample: null,
  }));
  const broken = rules.some(({ verdict }) => verdict === 'broken');
  return {
    schemaVersion: 1,
    protocol: options.protocol.dialect.protocol,
    verdict: broken ? 'broken' : stoppedBy === null ? 'holds' : 'inconclusive',
    rules: [...rules, ...others],
    states: found.states,
    transitions: found.transitions,
    depth: found.depth,
    seconds: found.seconds,
    bytesPerState: found.bytesPerState,
    stoppedBy,
    assumes: assumptions(options.faults),
    neverTaken: neverTaken(found.fired),
  };
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

const TICK = 'a quarter of a second passes';

/** The steps that do something; time is told with each of them. */
function stepsOf(trace: Trace, system: System): ProveStep[] {
  let ticks = 0;
  const steps: ProveStep[] = [];
  for (const { command, labels } of trace.steps) {
    if (command === TICK) ticks += 1;
    const last = trace.steps.at(-1)?.command === TICK;
    if (command === TICK && !last) continue;
    const index = labels.message;
    const example = typeof index === 'number' ? system.exchange.classes[index]?.example : undefined;
    steps.push({
      at_s: ticks / 4,
      what: command,
      message: example === undefined ? null : messageWords(example),
    });
  }
  return steps;
}

function messageWords({ type, ...facts }: { readonly [fact: string]: string }): string {
  const said = Object.entries(facts).filter(
    ([fact]) => fact !== 'session' || facts.session === 'foreign',
  );
  return `${type} ${said.map(([fact, value]) => `${fact} ${value}`).join(', ')}`.trim();
}
