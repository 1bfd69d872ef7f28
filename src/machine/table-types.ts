// A side machine as dense integer tables: for each state and each input class, the next state and what comes out.
import type { Drive, MachineEvent, Send, SideMachine } from './convention.ts';
import type { StateView } from './step.ts';
import type { Box } from './table-boxes.ts';
import type { EventKind } from './table-inputs.ts';

export interface TableTimer {
  /** Name of the delay. */
  readonly name: string;
  readonly ms: number;
  /** The event that tells the machine it fired. */
  readonly event: MachineEvent;
  /** The input that stands for it. */
  readonly input: number;
}

export interface TableState extends Pick<StateView, 'leaves' | 'stage' | 'says' | 'context'> {
  /** Timers that run in the state. */
  readonly timers: readonly number[];
}

/** All events no state tells apart: one type, and for a message, choice or sensor the values its facts may have. */
export interface TableInput {
  readonly type: string;
  /** Any of these boxes; one without facts is every event of the type. */
  readonly facts: readonly Box[];
  /** An event of the class, with every fact of the alphabet. */
  readonly example: MachineEvent;
  /** A choice or a sensor of the side's own. */
  readonly local: boolean;
  /** The timer whose firing it is; -1 when it is none. */
  readonly timer: number;
}

export interface TableOutput {
  readonly sends: readonly Send[];
  readonly drives: readonly Drive[];
  /** Timers started; a timer of the old state that also runs in the new one, and is not among these, goes on. */
  readonly armed: readonly number[];
}

export interface MachineTable {
  readonly of: SideMachine;
  /** State 0 is the first one. */
  readonly states: readonly TableState[];
  readonly inputs: readonly TableInput[];
  readonly timers: readonly TableTimer[];
  /** Output 0 is nothing. */
  readonly outputs: readonly TableOutput[];
  /** [state * inputs.length + input]. */
  readonly next: Int32Array;
  /** [state * inputs.length + input], an index into `outputs`. */
  readonly output: Int32Array;
  /** What comes out before the first input. */
  readonly initialOutput: number;
  /** The types of events, with the classes of their valuations; `first` is the input of class 0. */
  readonly kinds: ReadonlyMap<string, { readonly kind: EventKind; readonly first: number }>;
}
