// Shortest ways to a state, rebuilt backwards: each step runs the few states of the batch that found it once more.
import { evaluate, successors } from '../model/evaluate.ts';
import type { Successor } from '../model/evaluate.ts';
import type { Model, State } from '../model/form.ts';
import type { StateStore } from './store.ts';

export interface TraceStep {
  readonly command: string;
  readonly chosen: Readonly<Record<string, number>>;
  /** The command's labels, in words where they have some. */
  readonly labels: Readonly<Record<string, string | number>>;
  /** After the step. */
  readonly state: State;
}

export interface Trace {
  readonly initial: State;
  readonly steps: readonly TraceStep[];
}

interface Searched {
  readonly model: Model;
  readonly store: StateStore;
  state(i: number): State;
}

/** A shortest trace from the initial state to state number `target`. */
export function traceTo(search: Searched, target: number): Trace {
  const steps: TraceStep[] = [];
  let child = target;
  while (child > 0) {
    const { parent, successor } = stepInto(search, child);
    steps.push(traceStep(search.model, search.state(parent), successor));
    child = parent;
  }
  return { initial: search.state(0), steps: steps.reverse() };
}

function stepInto(search: Searched, child: number): { parent: number; successor: Successor } {
  const wanted = search.state(child);
  const { from, to } = search.store.parentsOf(child);
  for (let parent = from; parent < to; parent++) {
    for (const successor of successors(search.model, search.state(parent))) {
      if (successor.state.every((value, i) => value === wanted[i])) return { parent, successor };
    }
  }
  throw new Error(`no step leads to state ${child}; generated code and interpreter differ`);
}

function traceStep(
  model: Model,
  state: State,
  { command, chosen, state: next }: Successor,
): TraceStep {
  const labels: Record<string, string | number> = {};
  for (const { name, value, names } of command.labels) {
    const shown = evaluate(value, { model, state, chosen });
    labels[name] = names?.[shown] ?? shown;
  }
  return { command: command.name, chosen: Object.fromEntries(chosen), labels, state: next };
}
