// The timers of one node of a chart.
import type { AnyStateNode } from 'xstate';

export interface NodeTimer {
  /** The name of its delay. */
  readonly delay: string;
  readonly eventType: string;
}

/** What a state read from a table says of its timers: they may go on in the next state, which `after` cannot. */
export interface TimerMeta {
  readonly timers: readonly NodeTimer[];
}

export function timersOf({ after, meta }: AnyStateNode): readonly NodeTimer[] {
  const own = after.map(({ delay, eventType }) => ({ delay: String(delay), eventType }));
  return [...own, ...((meta as Partial<TimerMeta> | undefined)?.timers ?? [])];
}
