// Shortest ways to a state, rebuilt backwards: each step expands the level before once more until the state turns up.
import { evaluate, successors } from '../model/evaluate.ts';
import type { Successor } from '../model/evaluate.ts';
import type { Model, State } from '../model/form.ts';
import { innerOf, keyOf } from './layout.ts';
import type { Search, StateId } from './search.ts';

interface TraceStep {
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

/** A shortest trace from the initial state to a found state. */
export function traceTo(search: Search, target: StateId): Trace {
  const steps: TraceStep[] = [];
  const { levels } = search.store;
  let child = target;
  let level = levels.findLastIndex((start) => start <= Math.floor(target / 32));
  for (; level > 0; level--) {
    const { parent, successor } = stepInto(search, child, levels[level - 1]!, levels[level]!);
    steps.push(traceStep(search.model, search.state(parent), successor));
    child = parent;
  }
  return { initial: search.state(child), steps: steps.reverse() };
}

function stepInto(
  search: Search,
  child: StateId,
  levelStart: number,
  levelEnd: number,
): { parent: StateId; successor: Successor } {
  const wanted = search.state(child);
  for (let from = levelStart; from < levelEnd; from += search.batch) {
    const to = Math.min(from + search.batch, levelEnd);
    if (!leadsTo(search, from, to, wanted)) continue;
    for (let entry = from; entry < to; entry++) {
      if (!leadsTo(search, entry, entry + 1, wanted)) continue;
      for (const parent of search.statesOf(entry)) {
        for (const successor of successors(search.model, search.state(parent))) {
          const same = successor.state.every((value, i) => value === wanted[i]);
          if (same) return { parent, successor };
        }
      }
    }
  }
  throw new Error(`no step leads to state ${child}: generated code and interpreter differ`);
}

/** True when some of these entries have a state as a successor. */
function leadsTo(search: Search, from: number, to: number, wanted: State): boolean {
  const n = search.expand(from, to);
  const { layout, out } = search;
  const key = keyOf(layout, wanted);
  const bit = 1 << innerOf(layout, wanted);
  for (let at = 0; at < n * (layout.words + 1); at += layout.words + 1) {
    if ((out[at + layout.words]! & bit) === 0) continue;
    if (key.every((word, i) => word === out[at + i])) return true;
  }
  return false;
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
