// What comes out of a step, each combination once.
import type { Step } from './step.ts';
import type { TableOutput } from './table-types.ts';

type Listed = Pick<Step, 'sends' | 'drives' | 'armed'>;

export class Outputs {
  private readonly listed: Listed[] = [{ sends: [], drives: [], armed: [] }];
  private readonly ids = new Map<string, number>();
  private readonly known = new Map<Step, number>();

  /** 0 is nothing. */
  idOf(step: Step): number {
    const { sends, drives, armed } = step;
    if (sends.length + drives.length + armed.length === 0) return 0;
    let id = this.known.get(step);
    if (id !== undefined) return id;
    const key = JSON.stringify([sends, drives, armed]);
    id = this.ids.get(key);
    if (id === undefined) {
      this.ids.set(key, (id = this.listed.length));
      this.listed.push({ sends, drives, armed });
    }
    this.known.set(step, id);
    return id;
  }

  /** With timers by their number. */
  list(timerOf: (event: string) => number): TableOutput[] {
    return this.listed.map(({ sends, drives, armed }) => ({
      sends,
      drives,
      armed: armed.map(timerOf),
    }));
  }
}
