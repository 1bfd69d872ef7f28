// "From every reachable state a good state stays reachable": all states are found first, then the steps are followed
// backwards from the good ones. Needs no fairness, and promises no more than that a way exists.
import { checkExpr } from '../model/check.ts';
import type { Expr, Model } from '../model/form.ts';
import { generateMark } from './expander.ts';
import { searchStates } from './explore.ts';
import type { Exploration, ExploreOptions, Verdict } from './explore.ts';
import type { Search } from './search.ts';
import { traceTo } from './trace.ts';

export interface Reachability {
  readonly exploration: Exploration;
  /** Broken when some state cannot reach the goal; the trace is a shortest way to one. */
  readonly goal: Verdict;
  /** How many states cannot reach the goal; nothing when undecided. */
  readonly stuck?: number;
}

/** States between two looks at the event loop. */
const SLICE_STATES = 4096;
const SLICE_ms = 50;

/** Undecided when the search stops early, or would need more memory for the steps than the limit allows. */
export async function alwaysReachable(
  model: Model,
  name: string,
  goal: Expr,
  options: ExploreOptions = {},
): Promise<Reachability> {
  checkExpr(model, name, goal);
  const { exploration, search } = await searchStates(model, { ...options, separate: true });
  const undecided: Reachability = { exploration, goal: { name, verdict: 'undecided' } };
  const { states, bytes } = search.store;
  const steps_bytes = 4 * (search.transitions + 2 * states) + states;
  const memory_bytes = options.limits?.memory_bytes ?? Infinity;
  if (exploration.stoppedBy !== undefined || bytes + steps_bytes > memory_bytes) return undecided;
  if (search.transitions >= 2 ** 31) return undecided;
  const reaches = new Uint8Array(states);
  generateMark(search.model, search.layout, goal)(
    search.store.rows,
    search.store.log,
    states,
    reaches,
  );
  const backward = await backwardSteps(search, options.signal);
  if (backward === undefined) return undecided;
  const stuck = states - spread(reaches, backward);
  if (stuck === 0) return { exploration, goal: { name, verdict: 'holds' }, stuck };
  const trace = traceTo(search, reaches.indexOf(0) * 32);
  return { exploration, goal: { name, verdict: 'broken', trace }, stuck };
}

/** The states before state i stand in `sources` from `starts[i]` to `starts[i + 1]` − 1. */
interface BackwardSteps {
  readonly starts: Int32Array;
  readonly sources: Int32Array;
}

/** Two passes over all steps: count those into each state, then put them in place. Nothing when interrupted. */
async function backwardSteps(
  search: Search,
  signal: AbortSignal | undefined,
): Promise<BackwardSteps | undefined> {
  const { states } = search.store;
  const starts = new Int32Array(states + 1);
  const counted = await eachStep(search, signal, (_, target) => {
    starts[target + 1]!++;
  });
  for (let i = 0; i < states; i++) starts[i + 1]! += starts[i]!;
  const sources = new Int32Array(starts[states]!);
  const filled = starts.slice();
  const placed = await eachStep(search, signal, (source, target) => {
    sources[filled[target]!] = source;
    filled[target]!++;
  });
  return counted && placed ? { starts, sources } : undefined;
}

/** False when interrupted. */
async function eachStep(
  search: Search,
  signal: AbortSignal | undefined,
  see: (source: number, target: number) => void,
): Promise<boolean> {
  let sliceEnd = performance.now() + SLICE_ms;
  for (let source = 0; source < search.store.states; source++) {
    const n = search.expand(source, source + 1);
    const targets = search.store.locate(search.out, n);
    for (let j = 0; j < n; j++) see(source, targets[j]! - 1);
    if (source % SLICE_STATES !== 0 || performance.now() < sliceEnd) continue;
    await new Promise((resume) => setImmediate(resume));
    if (signal?.aborted) return false;
    sliceEnd = performance.now() + SLICE_ms;
  }
  return true;
}

/** Marks everything from which a marked state can be reached; returns how many are marked then. */
function spread(reaches: Uint8Array, { starts, sources }: BackwardSteps): number {
  const open = new Int32Array(reaches.length);
  let end = 0;
  for (let i = 0; i < reaches.length; i++) if (reaches[i] === 1) open[end++] = i;
  for (let next = 0; next < end; next++) {
    const target = open[next]!;
    for (let j = starts[target]!; j < starts[target + 1]!; j++) {
      const source = sources[j]!;
      if (reaches[source] === 1) continue;
      reaches[source] = 1;
      open[end++] = source;
    }
  }
  return end;
}
