// Every way a machine can take one event, found by trying it: the event's facts are getters, and only facts a guard or
// an output reads are branched over. Far fewer calls than the product of all domains (1 for an event nobody asks about).
import type { FactDomains, MachineEvent } from './convention.ts';

export interface Branch<T> {
  /** The event with the facts that were read, in the order they were read; the others made no difference. */
  readonly event: MachineEvent;
  readonly result: T;
}

/** Calls `run` once for each different way the facts of `domains` can steer it. `run` must be pure. */
export function branches<T>(
  type: string,
  domains: FactDomains,
  run: (event: MachineEvent) => T,
): Branch<T>[] {
  const found: Branch<T>[] = [];
  const open: MachineEvent[] = [Object.freeze({ type })];
  for (let assigned = open.pop(); assigned !== undefined; assigned = open.pop()) {
    let current: MachineEvent = assigned;
    const probe = { type };
    for (const [fact, values] of Object.entries(domains)) {
      Object.defineProperty(probe, fact, {
        enumerable: true,
        get(): string {
          const value = current[fact];
          if (value !== undefined) return value;
          for (let i = values.length - 1; i > 0; i--) open.push({ ...current, [fact]: values[i]! });
          current = { ...current, [fact]: values[0]! };
          return values[0]!;
        },
      });
    }
    const result = run(probe);
    found.push({ event: Object.freeze({ ...current }), result });
  }
  return found;
}
