// What `prove` reached of a side, as marks for its drawing. A proof names what no run took; all else was taken.
import type { Coverage } from '../../search/prove/coverage.ts';
import type { Outline } from './outline.ts';
import { wayKey, type Overlay } from './overlay.ts';

export function coverageOverlay(outline: Outline, coverage: Coverage, says: string): Overlay {
  const leaves = [...outline.states.values()].filter(({ children }) => children.length === 0);
  const missed = new Set(coverage.states.missed);
  const states = new Map(
    leaves.filter(({ path }) => !missed.has(path)).map(({ path }) => [path, 'reached'] as const),
  );
  const ways = new Set<string>();
  const missedWays = new Set(coverage.transitions.missed.flatMap(pairOf));
  for (const way of outline.ways) {
    if (way.when === 'never') continue;
    const from = leaves.filter(({ path }) => isIn(path, way.from)).map(({ path }) => path);
    // A transition of a state that encloses others was taken if it was from any of them.
    const taken = from.some((leaf) => {
      const to = way.to === null ? leaf : firstLeaf(outline, way.to);
      return states.has(leaf) && !missedWays.has(`${leaf} → ${to}`);
    });
    if (taken) ways.add(wayKey(way));
  }
  return { says, states, ways };
}

/** `a → b on X, Y and 3 more`: the two states. */
function pairOf(words: string): string[] {
  const [pair] = words.split(' on ');
  return pair === undefined ? [] : [pair];
}

function isIn(leaf: string, state: string): boolean {
  return state === '' || leaf === state || leaf.startsWith(`${state}.`);
}

function firstLeaf({ states }: Outline, path: string): string {
  let at = states.get(path)!;
  while (at.initial !== null) at = states.get(at.initial)!;
  return at.path;
}
