// Refuses a machine the pure step or a search could not take, with the reason and the mend. Guards may be inline
// functions; each is tried over the facts of its event, and may read nothing but context and event.
import { initialTransition, type AnyStateNode } from 'xstate';
import { branches } from './branches.ts';
import { canonical, isPlain } from './canonical.ts';
import {
  MAXIMUM_CONTEXT_KEYS,
  MAXIMUM_EVENT_FACTS,
  MAXIMUM_FACT_VALUES,
  OUTPUT_ACTIONS,
  type SideMachine,
} from './convention.ts';

export interface Problem {
  what: string;
  mend: string;
}

/** What is wrong with a side machine, all of it; empty when nothing is. */
export function checkMachine(side: SideMachine): Problem[] {
  const problems: Problem[] = [];
  const nodes = allNodes(side.machine.root as AnyStateNode);
  checkAlphabet(side, problems);
  for (const node of nodes) {
    checkActors(node, problems);
    checkTimers(node, side, problems);
    checkTransitions(node, side, problems);
    checkActions(node, [...node.entry, ...node.exit], problems);
  }
  checkContext(side, problems);
  return problems;
}

function allNodes(node: AnyStateNode): AnyStateNode[] {
  return [node, ...Object.values(node.states).flatMap((child) => allNodes(child))];
}

function checkAlphabet({ alphabet }: SideMachine, problems: Problem[]): void {
  for (const [event, facts] of Object.entries(alphabet)) {
    if (Object.keys(facts).length > MAXIMUM_EVENT_FACTS) {
      problems.push({
        what: `event ${event} carries more than ${MAXIMUM_EVENT_FACTS} facts`,
        mend: 'keep the facts a guard reads',
      });
    }
    for (const [fact, values] of Object.entries(facts)) {
      if (values.length > 0 && values.length <= MAXIMUM_FACT_VALUES) continue;
      problems.push({
        what: `fact ${fact} of event ${event} has ${values.length} values`,
        mend: `give 1 to ${MAXIMUM_FACT_VALUES} words; turn numbers into words before`,
      });
    }
  }
}

function checkActors(node: AnyStateNode, problems: Problem[]): void {
  if (node.invoke.length === 0) return;
  problems.push({
    what: `state ${node.id} invokes an actor`,
    mend: 'make what the actor answers an event',
  });
}

function checkTimers(node: AnyStateNode, side: SideMachine, problems: Problem[]): void {
  for (const { delay } of node.after) {
    if (typeof delay === 'string' && side.delays[delay] !== undefined) continue;
    problems.push(
      typeof delay === 'string'
        ? {
            what: `state ${node.id} waits for ${delay}, which has no duration`,
            mend: 'add it to `delays`, in ms with source and confidence',
          }
        : {
            what: `state ${node.id} waits for an inline delay`,
            mend: 'name the delay and give its duration in `delays`',
          },
    );
  }
}

function checkTransitions(node: AnyStateNode, side: SideMachine, problems: Problem[]): void {
  for (const [type, transitions] of node.transitions) {
    const timer = type.startsWith('xstate.');
    if (!timer && side.alphabet[type] === undefined) {
      problems.push({
        what: `state ${node.id} listens for ${type || 'every event'}, which is not in the alphabet`,
        mend: 'list each event with the domains of its facts in `alphabet`',
      });
    }
    for (const { actions, guard } of transitions) {
      checkActions(node, actions, problems);
      if (typeof guard === 'function') checkGuard(node, type, guard as Guard, side, problems);
      else if (isPlain(guard)) checkNamedGuard(guard.type, side, problems);
    }
  }
  for (const { actions } of node.always ?? []) checkActions(node, actions, problems);
}

type Guard = (scope: unknown) => unknown;

function checkGuard(
  node: AnyStateNode,
  type: string,
  guard: Guard,
  side: SideMachine,
  problems: Problem[],
): void {
  const foreign = new Set<string>();
  const { context } = side.machine.config as { context?: unknown };
  branches({ type }, side.alphabet[type] ?? {}, (event) => {
    const scope = new Proxy(
      { context: isPlain(context) ? context : {}, event },
      {
        get(target, key) {
          if (key in target) return target[key as keyof typeof target];
          foreign.add(String(key));
          return undefined;
        },
      },
    );
    try {
      guard(scope);
    } catch {
      // A guard that lives on what it may not read is told by name below; any other fault shows in the step.
    }
  });
  for (const key of foreign) {
    problems.push({
      what: `a guard of state ${node.id} on ${type} reads ${key}`,
      mend: 'guards may read `context` and `event` only',
    });
  }
}

function checkNamedGuard(name: unknown, side: SideMachine, problems: Problem[]): void {
  if (typeof name !== 'string' || name in side.machine.implementations.guards) return;
  problems.push({ what: `guard ${name} is not given`, mend: 'add it to setup({ guards })' });
}

function checkActions(node: AnyStateNode, actions: readonly unknown[], problems: Problem[]): void {
  for (const action of actions) {
    const { type, params } = describeAction(action);
    if (type === ASSIGN || TIMER_ACTIONS.has(type)) continue;
    if (!OUTPUT_ACTIONS.includes(type)) {
      problems.push({
        what: `state ${node.id} has the action ${type || '(a function)'}`,
        mend: 'outputs are `send` and `drive` with plain params; keep words by `assign`',
      });
    } else if (typeof params !== 'function' && !isPlain(params)) {
      problems.push({
        what: `action ${type} of state ${node.id} has no plain params`,
        mend: type === 'send' ? 'give { message, …facts }' : 'give { what, to }',
      });
    }
  }
}

const ASSIGN = 'xstate.assign';

/** XState turns `after` into these two on entry and exit. */
const TIMER_ACTIONS = new Set(['xstate.raise', 'xstate.cancel']);

function describeAction(action: unknown): { type: string; params?: unknown } {
  if (typeof action === 'string') return { type: action };
  if (typeof action !== 'function' && !isPlain(action)) return { type: '' };
  const { type, params } = action as { type?: unknown; params?: unknown };
  return { type: typeof type === 'string' ? type : '', params };
}

function checkContext(side: SideMachine, problems: Problem[]): void {
  // An action or guard that is refused above may also throw here; its own message says more.
  if (problems.length > 0) return;
  const [{ context }] = initialTransition(side.machine, undefined as never);
  try {
    canonical(context);
  } catch (error) {
    problems.push({
      what: `context is ${error instanceof Error ? error.message : 'not plain data'}`,
      mend: 'keep words and small whole numbers; no maps, dates or functions',
    });
    return;
  }
  for (const [key, value] of Object.entries(context as Record<string, unknown>)) {
    if (value === null || typeof value === 'string' || typeof value === 'boolean') continue;
    if (Number.isSafeInteger(value)) continue;
    problems.push({
      what: `context.${key} is not a single finite value`,
      mend: 'keep a word, a truth value or a small whole number',
    });
  }
  if (Object.keys(context as object).length > MAXIMUM_CONTEXT_KEYS) {
    problems.push({
      what: `context has more than ${MAXIMUM_CONTEXT_KEYS} keys`,
      mend: 'put what the side knows into states',
    });
  }
}
