// Every state a machine can reach, found once and only when needed: after a divergence or a gap, or in a session
// joined midway.
import type { AnyStateNode } from 'xstate';
import type { Stepper } from '../machine/step.ts';
import { InputError } from '../trace/input-error.ts';

export interface Universe {
  states(): readonly number[];
  /** Paths of all leaf states in the chart. */
  leaves(): readonly string[];
}

/** Above this the states are too many to keep as a set. */
const MAXIMUM_STATES = 20_000;

export function createUniverse(stepper: Stepper): Universe {
  let found: readonly number[] | null = null;
  return {
    states: () => (found ??= explore(stepper)),
    leaves: () => leavesOf(stepper.of.machine.root as AnyStateNode),
  };
}

function explore(stepper: Stepper): readonly number[] {
  const states = new Set([stepper.initial.next]);
  for (const state of states) {
    if (states.size > MAXIMUM_STATES) {
      throw new InputError(
        `machine ${stepper.of.machine.id} reaches more than ${MAXIMUM_STATES} states`,
        {},
        'keep less in its context',
      );
    }
    for (const next of stepper.successors(state)) states.add(next);
  }
  return [...states];
}

function leavesOf(node: AnyStateNode): string[] {
  const children = Object.values(node.states);
  if (children.length === 0) return [node.path.join('.')];
  return children.flatMap((child) => leavesOf(child));
}
