import type { NoteObservation } from './observation.ts';
import { NANOSECONDS } from './time.ts';

/** Clock steps told one by one. */
const STEPS_CAP = 100;

/** Watches that times do not step back, and tells where they do. */
export class ClockWatch {
  /** Time of the last observation; 0 before the first. */
  last_ns = 0;
  private any = false;
  private steps = 0;

  /** Takes the next time. Returns the note to put before it when it lies before the last. */
  next(at_ns: number, line: number): NoteObservation | null {
    const back_ns = this.any ? this.last_ns - at_ns : 0;
    this.last_ns = at_ns;
    this.any = true;
    if (back_ns <= 0 || this.steps >= STEPS_CAP) return null;
    this.steps += 1;
    const more = this.steps === STEPS_CAP ? '; further steps are not told' : '';
    const says = `line ${line}: the clock steps back by ${back_ns / NANOSECONDS} s${more}`;
    return { kind: 'note', at_ns, says, problem: 'clock' };
  }
}
