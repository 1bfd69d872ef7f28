// What the follower of one side answers. Its machine is handed in; only `cli` names the bundled ones.
import type { MachineEvent, SideMachine } from '../machine/convention.ts';
import type { Divergence } from '../rules/result.ts';
import type { Side } from '../trace/observation.ts';

export interface FollowerOptions {
  side: Side;
  machine: SideMachine;
  /** The recording starts inside the session: every state is possible at first. */
  joined: boolean;
  /** When the connection was opened, if that was seen; else the first message counts as its time. */
  opened_ns?: number;
}

export interface FollowStep {
  /** Set when this message is not one the side's machine could have sent. */
  divergence: Divergence | null;
  /** The same divergence as the one reported last, once more: not reported again. */
  repeated: boolean;
  /** Stages the side may be in after this message: one, unless the recording leaves it open. */
  stages: string[];
}

export interface Coverage {
  /** Leaf states of the machine the side may have been in, and all there are. */
  visited: number;
  of: number;
  unvisited: string[];
}

export interface Follower {
  /** One message of either side, in recorded order. Times are whole nanoseconds of the trace. */
  observe(event: MachineEvent, from: Side, at_ns: number, frame: number | null): FollowStep;
  /** The connection was closed or reset. */
  linkClosed(at_ns: number): void;
  /** Bytes are missing from the recording: any state may follow. */
  gap(): void;
  /** What the side may be doing, in words: `energy transfer: waits for CurrentDemandRes`. */
  states(): string[];
  /** What it could send next by itself, each with the choice, the reading or the timer that it takes. */
  next(): string[];
  coverage(): Coverage;
}
