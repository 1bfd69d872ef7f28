// What is marked in the drawing of a machine: where a trace went, or what of it a set of runs has reached.
import type { Outline, OutlineWay } from './outline.ts';
import type { ShownState } from './view.ts';

export interface Overlay {
  /** What is marked, in words: `the way of din-clean.pcapng, session S1`. */
  readonly says: string;
  /** Leaf states reached, each with what is told of it (`from 4.001 s, 12 times`; may be empty). */
  readonly states: ReadonlyMap<string, string>;
  /** Transitions taken, by `wayKey`. */
  readonly ways: ReadonlySet<string>;
}

/** Transitions that differ in guard or outputs alone are not told apart by what is seen of them. */
export function wayKey({ from, to, event }: Pick<OutlineWay, 'from' | 'to' | 'event'>): string {
  return JSON.stringify([from, to, event]);
}

export class Marks {
  readonly #overlay: Overlay;
  readonly #reached: ReadonlySet<string>;

  constructor(outline: Outline, overlay: Overlay) {
    this.#overlay = overlay;
    const reached = new Set<string>();
    for (const leaf of overlay.states.keys()) {
      for (let at: string | null = leaf; at !== null; at = outline.states.get(at)?.parent ?? null) {
        reached.add(at);
      }
    }
    this.#reached = reached;
  }

  /** Whether the state, or one in it, was reached. */
  reached(path: string): boolean {
    return this.#reached.has(path);
  }

  taken(ways: readonly OutlineWay[]): boolean {
    return ways.some((way) => this.#overlay.ways.has(wayKey(way)));
  }

  /** What is told of a box. */
  tag({ state }: ShownState): string {
    if (!this.reached(state.path)) return 'not reached';
    return this.#overlay.states.get(state.path) ?? '';
  }
}

/** `12 of 54 states, 30 of 120 transitions`, over leaf states and the transitions that can be taken. */
export function reachedWords(outline: Outline, overlay: Overlay): string {
  const leaves = [...outline.states.values()].filter(({ children }) => children.length === 0);
  const states = leaves.filter(({ path }) => overlay.states.has(path)).length;
  const keys = new Set(outline.ways.filter(({ when }) => when !== 'never').map(wayKey));
  const ways = [...keys].filter((key) => overlay.ways.has(key)).length;
  return `${states} of ${leaves.length} states, ${ways} of ${keys.size} transitions`;
}
