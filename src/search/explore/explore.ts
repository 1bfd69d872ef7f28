// The exhaustive search: strict breadth first, so that the first state found to break something is a nearest one.
import { checkModel } from '../model/check.ts';
import type { Model } from '../model/form.ts';
import { betterInner } from './choose-inner.ts';
import { Search } from './search.ts';
import { traceTo } from './trace.ts';
import type { Trace } from './trace.ts';

export interface Limits {
  /** The search stops at the first batch that finds more. */
  readonly states?: number;
  readonly memory_bytes?: number;
  readonly time_s?: number;
}

export interface ExploreOptions {
  readonly limits?: Limits;
  /** Stop at the first state that breaks anything. */
  readonly stopAtFirst?: boolean;
  readonly signal?: AbortSignal;
  /** One log entry and one row for each state, as `reachability.ts` needs; slower. */
  readonly separate?: boolean;
  /** Called between slices of work. */
  readonly onProgress?: (progress: Progress) => void;
}

export interface Progress {
  readonly states: number;
  readonly transitions: number;
  readonly depth: number;
  /** Groups of states found whose successors are still to be found. */
  readonly frontier: number;
  readonly seconds: number;
  readonly bytes: number;
}

type StoppedBy = 'states' | 'memory' | 'time' | 'interrupt' | 'violation';

export interface Verdict {
  readonly name: string;
  /** `undecided` when the search stopped before its end without finding it broken. */
  readonly verdict: 'holds' | 'broken' | 'undecided';
  /** A shortest one. */
  readonly trace?: Trace;
}

export interface Exploration {
  readonly stoppedBy?: StoppedBy;
  readonly states: number;
  readonly transitions: number;
  /** Steps from the initial state to the furthest state. */
  readonly depth: number;
  readonly seconds: number;
  readonly bytes: number;
  readonly bytesPerState: number;
  readonly statesPerSecond: number;
  /** How often each command fired, in the model's order. */
  readonly fired: readonly { readonly command: string; readonly count: number }[];
  readonly invariants: readonly Verdict[];
  /** By set of notes: 1 at each place that a step has marked. */
  readonly notes: ReadonlyMap<string, Uint8Array>;
  /** Present when the model says where a run may end. */
  readonly deadlock?: Verdict;
}

/** Between two looks at the event loop. */
const SLICE_ms = 50;
/** After so many states it may be worth starting again with a better layout. */
const SAMPLE_STATES = [2 ** 13, 2 ** 16];

/** Searches all reachable states, or as many as the limits allow; yields to the event loop every 50 ms. */
export async function explore(model: Model, options: ExploreOptions = {}): Promise<Exploration> {
  return (await searchStates(model, options)).exploration;
}

/** As `explore`, and keeps the states. */
export async function searchStates(
  model: Model,
  options: ExploreOptions = {},
): Promise<{ exploration: Exploration; search: Search }> {
  const started = performance.now();
  const seconds = (): number => (performance.now() - started) / 1000;
  checkModel(model);
  let search = new Search(model);
  const sampleAt = options.separate ? [] : [...SAMPLE_STATES];
  let stoppedBy: StoppedBy | undefined;
  while (stoppedBy === undefined && !search.done) {
    const sliceEnd = performance.now() + SLICE_ms;
    while (stoppedBy === undefined && !search.done && performance.now() < sliceEnd) {
      stoppedBy = stopReason(search, options);
      if (stoppedBy !== undefined) break;
      search.step();
      if (!(search.store.states >= sampleAt[0]!)) continue;
      sampleAt.shift();
      const inner = betterInner(search);
      if (inner !== undefined) search = new Search(model, inner);
    }
    if (seconds() > (options.limits?.time_s ?? Infinity)) stoppedBy ??= 'time';
    if (options.signal?.aborted) stoppedBy ??= 'interrupt';
    options.onProgress?.(progressOf(search, seconds()));
    await new Promise((resume) => setImmediate(resume));
  }
  if (search.done) stoppedBy = undefined;
  return { exploration: report(search, seconds(), stoppedBy), search };
}

function stopReason(
  search: Search,
  { limits, stopAtFirst }: ExploreOptions,
): StoppedBy | undefined {
  if (stopAtFirst && search.broken.some((state) => state >= 0)) return 'violation';
  if (search.store.states > (limits?.states ?? Infinity)) return 'states';
  const { nextBytes } = search.store;
  if (nextBytes === Infinity || nextBytes > (limits?.memory_bytes ?? Infinity)) return 'memory';
  return undefined;
}

function progressOf({ store, transitions, depth, next }: Search, seconds: number): Progress {
  const { states, bytes } = store;
  return { states, transitions, depth, frontier: store.entries - next, seconds, bytes };
}

function report(search: Search, seconds: number, stoppedBy: StoppedBy | undefined): Exploration {
  const { model, store, transitions, depth } = search;
  const { states, bytes } = store;
  const verdict = (name: string, state: number): Verdict => {
    if (state >= 0) return { name, verdict: 'broken', trace: traceTo(search, state) };
    return { name, verdict: stoppedBy === undefined ? 'holds' : 'undecided' };
  };
  const { mayEnd } = model;
  return {
    ...(stoppedBy && { stoppedBy }),
    states,
    transitions,
    depth,
    seconds,
    bytes,
    bytesPerState: bytes / states,
    statesPerSecond: states / seconds,
    fired: model.commands.map(({ name }, i) => ({ command: name, count: search.fired[i]! })),
    invariants: model.invariants.map(({ name }, i) => verdict(name, search.broken[i]!)),
    notes: search.marks,
    ...(mayEnd && { deadlock: verdict('deadlock', search.broken.at(-1)!) }),
  };
}
