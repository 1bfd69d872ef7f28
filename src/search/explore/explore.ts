// The exhaustive search: strict breadth first, so that the first state found to break something is a nearest one.
import { checkModel } from '../model/check.ts';
import { holdsIn, initialState, stateText, successors } from '../model/evaluate.ts';
import type { Model } from '../model/form.ts';
import { ModelError } from '../model/form.ts';
import { OUTSIDE, generateExpanders, generateJudge, mostSuccessors } from './expander.ts';
import type { Expand, Judge } from './expander.ts';
import { layoutOf, pack, unpack } from './layout.ts';
import type { Layout } from './layout.ts';
import { planCommands } from './plan.ts';
import { StateStore } from './store.ts';
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
  /** Called between slices of work. */
  readonly onProgress?: (progress: Progress) => void;
}

export interface Progress {
  readonly states: number;
  readonly transitions: number;
  readonly depth: number;
  /** States found whose successors are still to be found. */
  readonly frontier: number;
  readonly seconds: number;
  readonly bytes: number;
}

export type StoppedBy = 'states' | 'memory' | 'time' | 'interrupt' | 'violation';

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
  readonly wordsPerState: number;
  /** How often each command fired, in the model's order. */
  readonly fired: readonly { readonly command: string; readonly count: number }[];
  readonly invariants: readonly Verdict[];
  /** Present when the model says where a run may end. */
  readonly deadlock?: Verdict;
}

/** Between two looks at the event loop. */
const SLICE_ms = 50;
const BATCH_STATES = 256;
const MAXIMUM_BATCH_SUCCESSORS = 2 ** 20;
/** Numbers of states are 32-bit, and so are word offsets of the store. */
const MAXIMUM_WORDS = 2 ** 31 - 1;

/** Everything found by a search, for those that go on from it. */
export class Search {
  readonly model: Model;
  readonly layout: Layout;
  readonly store: StateStore;
  readonly fired: Float64Array;
  /** The first state that breaks each invariant, or −1; the last entry is for deadlocks. */
  readonly broken: Int32Array;
  transitions = 0;
  depth = 0;
  /** The next state to expand. */
  next = 0;
  readonly out: Int32Array;
  readonly batch: number;
  readonly #expanders: Expand[];
  readonly #judge: Judge;
  readonly #firedNow: Int32Array;
  readonly #moved: Uint8Array;
  #levelEnd = 1;

  constructor(model: Model) {
    checkModel(model);
    const plans = planCommands(model);
    const ordered = new Map(plans.map((plan) => [plan.index, plan.command]));
    this.model = { ...model, commands: model.commands.map((c, i) => ordered.get(i) ?? c) };
    this.layout = layoutOf(model.variables);
    const most = Math.max(1, mostSuccessors(plans));
    this.batch = Math.max(1, Math.min(BATCH_STATES, Math.floor(MAXIMUM_BATCH_SUCCESSORS / most)));
    this.store = new StateStore(this.layout, this.batch * most);
    this.out = new Int32Array(this.batch * most * this.layout.words);
    this.fired = new Float64Array(model.commands.length);
    this.broken = new Int32Array(model.invariants.length + 1).fill(-1);
    this.#firedNow = new Int32Array(model.commands.length);
    this.#moved = new Uint8Array(this.batch);
    this.#expanders = generateExpanders(this.model, this.layout, plans);
    this.#judge = generateJudge(this.model, this.layout);
    pack(this.layout, initialState(model), this.out, 0);
    this.store.insert(this.out, 1, 0);
  }

  get done(): boolean {
    return this.next === this.store.count;
  }

  /** States and words of a batch never reach beyond what 32 bits can number. */
  get full(): boolean {
    const most = this.store.count + this.out.length / this.layout.words;
    return most * this.layout.words > MAXIMUM_WORDS;
  }

  /** Expands and judges a batch of one level. */
  step(): void {
    if (this.next === this.#levelEnd) {
      this.depth++;
      this.#levelEnd = this.store.count;
    }
    const to = Math.min(this.next + this.batch, this.#levelEnd);
    this.#moved.fill(0);
    const n = this.expand(this.next, to, 0);
    this.#judgeBatch(to);
    this.transitions += n;
    for (let i = 0; i < this.fired.length; i++) this.fired[i]! += this.#firedNow[i]!;
    this.#firedNow.fill(0);
    this.store.insert(this.out, n, this.next);
    this.next = to;
  }

  /** Writes the successors of some states into `out` behind the first `n`; returns how many there are then. */
  expand(from: number, to: number, n: number): number {
    const { words } = this.layout;
    let end = n * words;
    try {
      for (const expand of this.#expanders) {
        end = expand(this.store.words, from, to, this.out, end, this.#firedNow, this.#moved);
      }
    } catch (error) {
      throw error === OUTSIDE ? this.#fault(from, to) : error;
    }
    return end / words;
  }

  state(i: number): readonly number[] {
    return unpack(this.layout, this.store.words, i * this.layout.words);
  }

  #judgeBatch(to: number): void {
    try {
      this.#judge(this.store.words, this.next, to, this.broken, this.#moved);
    } catch (error) {
      throw error === OUTSIDE ? this.#fault(this.next, to) : error;
    }
  }

  /** What went wrong in one of these states, in words. */
  #fault(from: number, to: number): Error {
    for (let i = from; i < to; i++) {
      const state = this.state(i);
      try {
        for (const { holds } of this.model.invariants) holdsIn(this.model, holds, state);
        for (const successor of successors(this.model, state)) void successor;
      } catch (error) {
        if (error instanceof ModelError) return error;
        throw error;
      }
    }
    return new Error(
      `generated code and interpreter differ near ${stateText(this.model, this.state(from))}`,
    );
  }
}

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
  const search = new Search(model);
  let stoppedBy: StoppedBy | undefined;
  while (stoppedBy === undefined && !search.done) {
    const sliceEnd = performance.now() + SLICE_ms;
    while (stoppedBy === undefined && !search.done && performance.now() < sliceEnd) {
      stoppedBy = stopReason(search, options);
      if (stoppedBy === undefined) search.step();
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
  if (search.store.count > (limits?.states ?? Infinity)) return 'states';
  const room = search.out.length / search.layout.words;
  if (search.store.bytesWith(room) > (limits?.memory_bytes ?? Infinity)) return 'memory';
  if (search.full) return 'memory';
  return undefined;
}

function progressOf(search: Search, seconds: number): Progress {
  return {
    states: search.store.count,
    transitions: search.transitions,
    depth: search.depth,
    frontier: search.store.count - search.next,
    seconds,
    bytes: search.store.bytes,
  };
}

function report(search: Search, seconds: number, stoppedBy: StoppedBy | undefined): Exploration {
  const { model, store } = search;
  const complete = stoppedBy === undefined;
  const verdict = (name: string, state: number): Verdict => {
    if (state < 0) return { name, verdict: complete ? 'holds' : 'undecided' };
    return { name, verdict: 'broken', trace: traceTo(search, state) };
  };
  return {
    ...(stoppedBy && { stoppedBy }),
    states: store.count,
    transitions: search.transitions,
    depth: search.depth,
    seconds,
    bytes: store.bytes,
    bytesPerState: store.bytes / store.count,
    statesPerSecond: store.count / seconds,
    wordsPerState: search.layout.words,
    fired: model.commands.map(({ name }, i) => ({ command: name, count: search.fired[i]! })),
    invariants: model.invariants.map(({ name }, i) => verdict(name, search.broken[i]!)),
    ...(model.mayEnd && { deadlock: verdict('deadlock', search.broken.at(-1)!) }),
  };
}
