// Which states can follow a state, over everything that may happen. XState is asked once for each transition that some
// valuation of the event selects, not once for each valuation: guards alone are cheap to try.
import { getNextTransitions, type AnyMachineSnapshot, type AnyTransitionDefinition } from 'xstate';
import { branches } from './branches.ts';
import type { FactDomains, MachineEvent } from './convention.ts';

type Guard = (scope: { context: unknown; event: MachineEvent }) => boolean;

/** Events that between them take every way out of a state; see `deciding` for what they leave open. */
export function waysOut(
  snapshot: AnyMachineSnapshot,
  alphabet: { readonly [event: string]: FactDomains },
): MachineEvent[] {
  const byType = new Map<string, AnyTransitionDefinition[]>();
  for (const transition of getNextTransitions(snapshot)) {
    const type: string = transition.eventType;
    byType.set(type, [...(byType.get(type) ?? []), transition]);
  }
  return [...byType].flatMap(([type, transitions]) =>
    deciding(snapshot, type, transitions, alphabet[type] ?? {}),
  );
}

/**
 * Events of one type that between them select every transition the state can answer it with. Facts they leave out may
 * still matter (an `assign` may keep one) and are to be tried; for a transition without one they are all filled in.
 * When guards alone cannot tell (named or combined guards, parallel states), one event without any fact.
 */
function deciding(
  { context, value }: AnyMachineSnapshot,
  type: string,
  transitions: readonly AnyTransitionDefinition[],
  domains: FactDomains,
): MachineEvent[] {
  // XState's `and`, `or`, `not` and `stateIn` are functions too, which must not be called.
  const inline = transitions.every(
    ({ guard }) => guard === undefined || (typeof guard === 'function' && !('check' in guard)),
  );
  if (!inline || isParallel(value)) return [{ type }];
  const select = (event: MachineEvent): AnyTransitionDefinition | undefined =>
    transitions.find(({ guard }) => guard === undefined || (guard as Guard)({ context, event }));
  const chosen = new Map<AnyTransitionDefinition, MachineEvent>();
  const open: MachineEvent[] = [];
  for (const { event, result } of branches({ type }, domains, select)) {
    if (result === undefined) continue;
    if (result.actions.some(keepsFacts)) open.push(event);
    else chosen.set(result, event);
  }
  return [...open, ...[...chosen.values()].map((event) => complete(event, domains))];
}

/** An `assign` may put a fact of the event into the context. */
function keepsFacts(action: unknown): boolean {
  return (action as { type?: unknown }).type === 'xstate.assign';
}

function isParallel(value: unknown): boolean {
  if (value === null || typeof value !== 'object') return false;
  const inner = Object.values(value);
  return inner.length > 1 || inner.some(isParallel);
}

/** The event with some value for the facts no guard read; outputs may still name them. */
function complete(event: MachineEvent, domains: FactDomains): MachineEvent {
  const facts = Object.entries(domains).map(([fact, values]) => [fact, values[0]!]);
  return Object.freeze({ ...Object.fromEntries(facts), ...event });
}
