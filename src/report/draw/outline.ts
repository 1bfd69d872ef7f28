// A machine as a drawing needs it: its states with what encloses what, and its transitions with everything about them in
// words. Read from the definition alone; only guards and outputs are asked, which are pure.
import type { AnyStateNode, AnyTransitionDefinition } from 'xstate';
import { isLocalEvent, isSignal, type SideMachine } from '../../machine/convention.ts';
import { timersOf } from '../../machine/timers.ts';
import type { ProtocolName, Side } from '../../trace/observation.ts';
import { guardWords } from './guard-words.ts';
import { outputWords } from './output-words.ts';

export interface OutlineState {
  /** `transfer.running.waits`; empty for the machine itself. */
  readonly path: string;
  readonly name: string;
  readonly parent: string | null;
  readonly children: readonly string[];
  /** The child it begins in. */
  readonly initial: string | null;
  readonly stage: string;
  /** What the side does here, in words. */
  readonly says: string;
  /** What is sent or driven on entry. */
  readonly entry: readonly string[];
}

/** One transition of the definition. */
export interface OutlineWay {
  readonly from: string;
  /** Null: it stays where it is, and only puts something out. */
  readonly to: string | null;
  readonly kind: 'message' | 'choice' | 'signal' | 'link' | 'timer';
  /** The event's type; of a timer the name of its delay. */
  readonly event: string;
  /** How long the timer runs. */
  readonly ms: number | null;
  /** What its guard asks of the event's facts; empty where nothing is asked. */
  readonly when: string;
  readonly outputs: readonly string[];
}

export interface Outline {
  readonly name: string;
  readonly side: Side;
  readonly protocol: ProtocolName;
  /** By path, in the order of the definition, the machine itself first. */
  readonly states: ReadonlyMap<string, OutlineState>;
  readonly ways: readonly OutlineWay[];
}

export function machineOutline(side: SideMachine): Outline {
  const states = new Map<string, OutlineState>();
  const ways: OutlineWay[] = [];
  const walk = (node: AnyStateNode, parent: string | null): void => {
    const path = pathOf(node);
    const inner: AnyStateNode[] = Object.values(node.states);
    const first = node.type === 'compound' ? node.initial.target[0] : undefined;
    states.set(path, {
      path,
      name: path === '' ? side.machine.id : String(node.key),
      parent,
      children: inner.map(pathOf),
      initial: first === undefined ? null : pathOf(first),
      stage: [...node.tags].at(-1) ?? '',
      says: node.description ?? '',
      entry: node.entry.flatMap((action) => outputWords(action, side, '')),
    });
    ways.push(...waysOf(node, side));
    for (const one of inner) walk(one, path);
  };
  walk(side.machine.root as AnyStateNode, null);
  return { name: side.machine.id, side: side.side, protocol: side.protocol, states, ways };
}

function pathOf(node: AnyStateNode): string {
  return node.path.join('.');
}

function waysOf(node: AnyStateNode, side: SideMachine): OutlineWay[] {
  const timers = new Map(timersOf(node).map(({ eventType, delay }) => [eventType, delay]));
  const found: OutlineWay[] = [];
  for (const [type, transitions] of node.transitions) {
    const delay = timers.get(type);
    const when = guardWords(type, transitions, side);
    for (const [index, transition] of transitions.entries()) {
      found.push({
        from: pathOf(node),
        to: targetOf(transition),
        kind: delay === undefined ? kindOf(type) : 'timer',
        event: delay ?? type,
        ms: delay === undefined ? null : (side.delays[delay]?.ms ?? null),
        when: when[index]!,
        outputs: transition.actions.flatMap((action) => outputWords(action, side, type)),
      });
    }
  }
  return found;
}

function targetOf({ target }: AnyTransitionDefinition): string | null {
  const first = target?.[0] as AnyStateNode | undefined;
  return first === undefined ? null : pathOf(first);
}

function kindOf(type: string): OutlineWay['kind'] {
  if (isLocalEvent(type)) return 'choice';
  if (isSignal(type)) return 'signal';
  return type.startsWith('link.') ? 'link' : 'message';
}
