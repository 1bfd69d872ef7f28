// Every way a machine can take one event, found by trying it: the event's facts are getters, and only facts a guard or
// an output reads are branched over. Far fewer calls than the product of all domains (1 for an event nobody asks about).
import type { FactDomains, MachineEvent } from './convention.ts';

export interface Branch<T> {
  /** The event with the facts that were read, in the order they were read; the others made no difference. */
  readonly event: MachineEvent;
  readonly result: T;
}

/**
 * Calls `run` once for each different way the facts of `domains` can steer it; facts of `given` are fixed. `run` must be
 * pure.
 */
export function branches<T>(
  { type, ...given }: MachineEvent,
  domains: FactDomains,
  run: (event: MachineEvent) => T,
): Branch<T>[] {
  const facts = Object.keys(domains);
  if (facts.every((fact) => given[fact] !== undefined)) {
    const event = Object.freeze({ type, ...given });
    return [{ event, result: run(event) }];
  }
  const found: Branch<T>[] = [];
  const open: Readings[] = [new Map(Object.entries(given))];
  for (let readings = open.pop(); readings !== undefined; readings = open.pop()) {
    const probe = { type };
    for (const fact of facts) {
      const values = domains[fact]!;
      const get = (): string => read(readings, fact, values, open);
      Object.defineProperty(probe, fact, { enumerable: true, get });
    }
    const result = run(probe);
    found.push({ event: Object.freeze({ type, ...Object.fromEntries(readings) }), result });
  }
  return found;
}

type Readings = Map<string, string>;

/** The value this run gives a fact; the first time it is asked for, its other values are left for later runs. */
function read(
  readings: Readings,
  fact: string,
  values: readonly string[],
  open: Readings[],
): string {
  const known = readings.get(fact);
  if (known !== undefined) return known;
  for (let i = values.length - 1; i > 0; i--) open.push(new Map(readings).set(fact, values[i]!));
  readings.set(fact, values[0]!);
  return values[0]!;
}
