// What of both machines the search has taken. States that answer everything alike count as one, and so do inputs that are
// answered alike in a state: what is missed was missed in every way there is.
import type { MachineTable } from '../../machine/table.ts';

export interface Coverage {
  readonly states: Covered;
  readonly transitions: Covered;
}

export interface Covered {
  readonly reached: number;
  readonly total: number;
  /** In words, in the order of the machine. */
  readonly missed: readonly string[];
}

interface Way {
  taken: boolean;
  readonly from: string;
  readonly to: string;
  readonly types: Set<string>;
}

/** `taken`: 1 at `state * inputs + input` for each reaction taken. States and transitions of one name are one. */
export function coverageOf(machine: MachineTable, taken: Uint8Array): Coverage {
  const { states, inputs, next, output } = machine;
  const names = states.map(({ leaves }) => leaves.join(' + '));
  const reached = new Set([names[0]!]);
  const ways = new Map<string, Way>();
  for (const [state, from] of names.entries()) {
    for (const [input, { type }] of inputs.entries()) {
      const place = state * inputs.length + input;
      const to = names[next[place]!]!;
      if (taken[place] === 1) reached.add(to);
      if (next[place] === state && output[place] === 0) continue;
      const key = `${from} ${to} ${output[place]}`;
      const way = ways.get(key) ?? { taken: false, from, to, types: new Set() };
      way.types.add(type);
      way.taken ||= taken[place] === 1;
      ways.set(key, way);
    }
  }
  const all = [...ways.values()];
  return {
    states: covered([...new Set(names)], (name) => reached.has(name), String),
    transitions: covered(all, (way) => way.taken, wayWords),
  };
}

function covered<T>(
  all: readonly T[],
  is: (one: T) => boolean,
  words: (one: T) => string,
): Covered {
  const missed = all.filter((one) => !is(one)).map(words);
  return { reached: all.length - missed.length, total: all.length, missed };
}

/** Names of inputs told of one way; a side may answer a dozen messages alike. */
const MOST_TYPES = 3;

function wayWords({ from, to, types }: Way): string {
  const named = [...types].slice(0, MOST_TYPES).join(', ');
  const more = types.size > MOST_TYPES ? ` and ${types.size - MOST_TYPES} more` : '';
  return `${from} → ${to} on ${named}${more}`;
}
