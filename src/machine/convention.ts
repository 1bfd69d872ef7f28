// What a machine may be. A side is an XState v5 machine that is a pure (state, event) → [state, outputs]: guards read
// the event's facts and a small plain context, actions are named outputs and never effects, delays are named. The same
// machine can then be drawn, replayed, simulated and compiled to tables.
import type { AnyStateMachine } from 'xstate';
import type { Confidence } from '../facts/figures.ts';
import type { ProtocolName, Side } from '../trace/observation.ts';

/** A message received, a choice the standard leaves open, or a reading of an own sensor, with its finite facts. */
export interface MachineEvent {
  readonly type: string;
  readonly [fact: string]: string;
}

/** Output: a message sent. Every other property is a finite fact of it; a fact left out may have any value. */
export interface Send {
  readonly message: string;
  readonly [fact: string]: string;
}

/** Output: a command to the side's own hardware. */
export interface Drive {
  readonly what: 'contactors' | 'output' | 'lock' | 'pilot' | 'alarm';
  readonly to: string;
}

/** A named duration of the standard. */
interface Delay {
  readonly ms: number;
  readonly confidence: Confidence;
  readonly source: string;
}

/** The finite domain of each fact an event carries. */
export type FactDomains = { readonly [fact: string]: readonly string[] };

/** One side of one protocol, with everything the pure step and a search need to know about it. */
export interface SideMachine {
  readonly side: Side;
  readonly protocol: ProtocolName;
  readonly machine: AnyStateMachine;
  /** Every event the machine may be given. */
  readonly alphabet: { readonly [event: string]: FactDomains };
  /** Every delay its `after` transitions name. */
  readonly delays: { readonly [name: string]: Delay };
}

/** Output actions by name; XState's own `assign` may fill the plain context. */
export const OUTPUT_ACTIONS: readonly string[] = ['send', 'drive'];

/** `choose.*`: what the standard leaves to the side; `sense.*`: its own sensors. */
export function isLocalEvent(type: string): boolean {
  return type.startsWith('choose.') || type.startsWith('sense.');
}

/**
 * `signal.*`: an alarm that reaches a side past the dialogue (crash, emergency stop, a contactor that stayed closed). A
 * replay takes none for granted; a search draws them.
 */
export function isSignal(type: string): boolean {
  return type.startsWith('signal.');
}

/** The connection ended, as an event. */
export const LINK_CLOSED: MachineEvent = Object.freeze({ type: 'link.closed' });

/** The longest domain of one fact, the most facts of one event, the most keys of a context: what tables can hold. */
export const MAXIMUM_FACT_VALUES = 32;
export const MAXIMUM_EVENT_FACTS = 16;
export const MAXIMUM_CONTEXT_KEYS = 16;
