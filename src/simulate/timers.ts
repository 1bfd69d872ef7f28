// The timers of a machine in virtual time, by the event that tells it that one fired.
import type { MachineEvent } from '../machine/convention.ts';
import type { StateView, Step } from '../machine/step.ts';

export interface Due {
  readonly event: MachineEvent;
  readonly at_ns: number;
}

export class Timers {
  private running = new Map<string, Due>();

  get amount(): number {
    return this.running.size;
  }

  /** A step led here: what it armed starts now, what the old state had goes on, and the rest is forgotten. */
  enter({ armed }: Step, { timers }: StateView, at_ns: number): void {
    const running = new Map<string, Due>();
    for (const { event, ms } of timers) {
      const goesOn = armed.includes(event.type) ? undefined : this.running.get(event.type);
      running.set(event.type, goesOn ?? { event, at_ns: at_ns + ms * 1e6 });
    }
    this.running = running;
  }

  forget(event: MachineEvent): void {
    this.running.delete(event.type);
  }

  /** The one that fires first; null when none runs. */
  next(): Due | null {
    let first: Due | null = null;
    for (const due of this.running.values()) {
      if (first === null || due.at_ns < first.at_ns) first = due;
    }
    return first;
  }
}
