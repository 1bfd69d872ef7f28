// A pure step over plain values, run once over everything it can reach, as a table.

export interface Folded<S> {
  readonly states: readonly S[];
  readonly inputs: number;
  /** Next state by state and input: `next[state * inputs + input]`. */
  readonly next: Int32Array;
}

/**
 * Every state reachable from `initial` under any sequence of inputs. `key` names a state: states with one key are one.
 * Throws RangeError beyond `most` states: the step is not finite.
 */
export function fold<S, I>(
  initial: S,
  inputs: readonly I[],
  step: (state: S, input: I) => S,
  key: (state: S) => string,
  most = 100_000,
): Folded<S> {
  const states: S[] = [initial];
  const ids = new Map([[key(initial), 0]]);
  const next: number[] = [];
  for (let at = 0; at < states.length; at += 1) {
    for (const input of inputs) {
      const reached = step(states[at]!, input);
      const name = key(reached);
      let id = ids.get(name);
      if (id === undefined) {
        id = states.length;
        if (id >= most) throw new RangeError(`more than ${most} states: the step is not finite`);
        ids.set(name, id);
        states.push(reached);
      }
      next.push(id);
    }
  }
  return { states, inputs: inputs.length, next: Int32Array.from(next) };
}

/** Classes of inputs that no state tells apart: class by input, and the first input of each class. */
export function inputClasses(rows: readonly (readonly (number | string)[])[]): {
  classOf: number[];
  representatives: number[];
} {
  const known = new Map<string, number>();
  const representatives: number[] = [];
  const classOf = rows.map((row, input) => {
    const name = row.join(' ');
    let id = known.get(name);
    if (id === undefined) {
      id = representatives.length;
      known.set(name, id);
      representatives.push(input);
    }
    return id;
  });
  return { classOf, representatives };
}
