// One search in progress: expands the log of found states level by level. Strictly breadth first.
import { holdsIn, initialState, stateText, successors } from '../model/evaluate.ts';
import type { Model, State } from '../model/form.ts';
import { ModelError } from '../model/form.ts';
import { OUTSIDE } from './compile.ts';
import { generateExpanders, generateJudge, generateWatches } from './expander.ts';
import type { Expand, Judge, Marks, Watch } from './expander.ts';
import { innerOf, keyOf, layoutOf, stateOf } from './layout.ts';
import type { Layout } from './layout.ts';
import { planCommands } from './plan.ts';
import type { Plan } from './plan.ts';
import { stepKind } from './step-kind.ts';
import { StateStore } from './store.ts';

const BATCH_ENTRIES = 256;
const MAXIMUM_BATCH_KEYS = 2 ** 20;

/** A found state: the number of its log entry × 32 + the number of its inner values. */
export type StateId = number;

export class Search {
  /** With its guards in the order they are tried. */
  readonly model: Model;
  readonly plans: readonly Plan[];
  readonly layout: Layout;
  readonly store: StateStore;
  /** How often each command fired. */
  readonly fired: Float64Array;
  /** The first state that breaks each invariant, or −1; the last is for deadlocks. */
  readonly broken: Float64Array;
  /** Keys with bits, as the last expansion wrote them. */
  readonly out: Int32Array;
  readonly batch: number;
  /** What the steps taken so far have noted. */
  readonly marks: Marks;
  depth = 0;
  /** The next entry to expand. */
  next = 0;
  readonly #expanders: readonly Expand[];
  readonly #judge: Judge;
  #watches: readonly Watch[];
  readonly #firedNow: Int32Array;
  readonly #moved: Int32Array;

  /** `inner` are the variables of which all combinations are kept together (layout.ts). */
  constructor(model: Model, inner: ReadonlySet<number> = new Set()) {
    this.plans = planCommands(model);
    const ordered = new Map(this.plans.map((plan) => [plan.index, plan.command]));
    this.model = { ...model, commands: model.commands.map((c, i) => ordered.get(i) ?? c) };
    this.layout = layoutOf(model.variables, inner);
    const most = mostKeys(this.plans, model, this.layout);
    this.batch = Math.max(1, Math.min(BATCH_ENTRIES, Math.floor(MAXIMUM_BATCH_KEYS / most)));
    this.store = new StateStore(this.layout, this.batch * most);
    this.out = new Int32Array(this.batch * most * (this.layout.words + 1));
    this.fired = new Float64Array(model.commands.length);
    this.broken = new Float64Array(model.invariants.length + 1).fill(-1);
    this.#firedNow = new Int32Array(model.commands.length);
    this.#moved = new Int32Array(this.batch);
    this.marks = new Map(model.notes?.map(({ name, size }) => [name, new Uint8Array(size)]));
    this.#expanders = generateExpanders(this.model, this.layout, this.plans, this.marks);
    this.#watches = generateWatches(this.model, this.layout, this.plans, this.marks);
    this.#judge = generateJudge(this.model, this.layout);
    const initial = initialState(model);
    this.out.set([...keyOf(this.layout, initial), 1 << innerOf(this.layout, initial)]);
    this.store.insert(this.out, 1, 0);
    this.store.levels.push(1);
  }

  get done(): boolean {
    return this.next === this.store.entries;
  }

  get transitions(): number {
    return this.fired.reduce((sum, count) => sum + count, 0);
  }

  /** Expands and judges a batch of one level. */
  step(): void {
    const { levels } = this.store;
    if (this.next === levels[this.depth + 1]) {
      this.depth++;
      levels.push(this.store.entries);
    }
    const levelEnd = levels[this.depth + 1]!;
    const to = Math.min(this.next + this.batch, levelEnd);
    const n = this.expand(this.next, to);
    this.#guarded(this.next, to, () => {
      const { rows, log } = this.store;
      this.#judge(rows, log, this.next, to, this.broken, this.#moved);
      for (const watch of this.#watches) watch.run(rows, log, this.next, to);
      this.#watches = this.#watches.filter((watch) => watch.open());
    });
    for (let i = 0; i < this.fired.length; i++) this.fired[i]! += this.#firedNow[i]!;
    this.store.insert(this.out, n, levelEnd);
    this.next = to;
  }

  /** Writes what follows from some entries, at most a batch, into `out`; returns how many keys. */
  expand(from: number, to: number): number {
    const { rows, log } = this.store;
    this.#moved.fill(0);
    this.#firedNow.fill(0);
    let end = 0;
    this.#guarded(from, to, () => {
      for (const expand of this.#expanders) {
        end = expand(rows, log, from, to, this.out, end, this.#firedNow, this.#moved);
      }
    });
    return end / (this.layout.words + 1);
  }

  state(id: StateId): State {
    const row = this.store.log[2 * Math.floor(id / 32)]!;
    return stateOf(this.layout, this.store.rows, row * (this.layout.words + 2), id % 32);
  }

  /** The states of a log entry. */
  statesOf(entry: number): StateId[] {
    const bits = this.store.log[2 * entry + 1]!;
    return Array.from({ length: 32 }, (_, e) => entry * 32 + e).filter(
      (id) => (bits >>> (id % 32)) & 1,
    );
  }

  #guarded(from: number, to: number, run: () => void): void {
    try {
      run();
    } catch (error) {
      throw error === OUTSIDE ? this.#fault(from, to) : error;
    }
  }

  /** What went wrong in one of these entries, in words. */
  #fault(from: number, to: number): Error {
    const { invariants, mayEnd } = this.model;
    for (let entry = from; entry < to; entry++) {
      for (const id of this.statesOf(entry)) {
        const state = this.state(id);
        try {
          for (const successor of successors(this.model, state)) void successor;
          for (const { holds } of invariants) holdsIn(this.model, holds, state);
          if (mayEnd) holdsIn(this.model, mayEnd, state);
        } catch (error) {
          if (!(error instanceof ModelError)) throw error;
          return error;
        }
      }
    }
    const near = stateText(this.model, this.state(this.statesOf(from)[0]!));
    return new Error(`generated code and interpreter differ near ${near}`);
  }
}

/** The most keys that one entry can lead to; at least 1. */
function mostKeys(plans: readonly Plan[], model: Model, layout: Layout): number {
  let most = 1;
  for (const plan of plans) {
    const { command, scope } = plan;
    const ways = command.choices.map(({ name }) => scope.choices.get(name)!.high + 1);
    const each = stepKind(plan, model, layout).kind === 'single' ? 2 ** layout.innerBits : 1;
    most += ways.reduce((product, size) => product * size, each);
  }
  return most;
}
