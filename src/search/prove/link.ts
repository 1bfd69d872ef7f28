import { Change } from './change.ts';
import { PLACES } from './exchange.ts';
import type { Memory } from './memory.ts';
import type { System } from './system.ts';

/** The link goes down: what was in flight is lost, and no consent outlives it. */
export function linkDown(system: System, memory: Memory, closes: number): Change {
  const { is } = system;
  const column = closes * PLACES;
  return new Change()
    .set(is.link, 1)
    .set(is.wire, 0)
    .set(is.patience, 0)
    .set(is.consents, memory.nextConsents.at(is.consents, column));
}
