// XState's pure step at the price of the step alone. The package's `transition()` builds an actor with its system and
// first state anew for every call, which costs more than the step; here one actor, never started, serves all of them.
// What is called, `machine.transition(snapshot, event, scope)`, is the public interface of every actor logic; tests
// compare it with `transition()` on random walks.
import {
  createActor,
  type AnyActorScope,
  type AnyMachineSnapshot,
  type AnyStateMachine,
} from 'xstate';

export interface Action {
  readonly type: string;
  readonly params?: { readonly id?: string; readonly message?: string } | undefined;
}

export type Transition = (
  snapshot: AnyMachineSnapshot,
  event: { readonly type: string },
) => readonly [AnyMachineSnapshot, readonly Action[]];

function nothing(): void {}

/** The machine's (state, event) → [state, actions]; nothing is executed. */
export function createTransition(machine: AnyStateMachine): Transition {
  const self = createActor(machine);
  let actions: Action[] = [];
  const scope: AnyActorScope = {
    self,
    id: '',
    sessionId: '',
    system: self.system,
    logger: nothing,
    defer: nothing,
    emit: nothing,
    stopChild: nothing,
    actionExecutor: ({ type, params }) => {
      actions.push({ type, params: params as Action['params'] });
    },
  };
  return (snapshot, event) => {
    actions = [];
    const next = machine.transition(snapshot, event as never, scope) as AnyMachineSnapshot;
    return [next, actions];
  };
}
