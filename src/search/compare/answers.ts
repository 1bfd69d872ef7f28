// What a table answers to an input, as somebody outside can tell it: what is sent and driven, and the timers that run
// from there on. States and their names are nobody's business: two machines that answer alike forever are the same.
import type { Drive, Send } from '../../machine/convention.ts';
import type { MachineTable } from '../../machine/table.ts';

interface RunningTimer {
  readonly timer: number;
  readonly name: string;
  readonly ms: number;
  /** Its place among the timers that ran before the step; -1 when the step started it. */
  readonly from: number;
}

export interface TableAnswer {
  readonly state: number;
  readonly sends: readonly Send[];
  readonly drives: readonly Drive[];
  /** By name; two of one name in the order of the state. */
  readonly timers: readonly RunningTimer[];
}

/** Answers of one table, remembered. */
export class Answers {
  readonly table: MachineTable;
  private readonly known = new Map<string, TableAnswer>();
  private readonly running: readonly (readonly number[])[];

  constructor(table: MachineTable) {
    this.table = table;
    const name = (timer: number): string => table.timers[timer]!.name;
    this.running = table.states.map(({ timers }) =>
      [...timers].sort((a, b) => (name(a) < name(b) ? -1 : name(a) > name(b) ? 1 : 0)),
    );
  }

  first(): TableAnswer {
    return this.answer(-1, 0, this.table.initialOutput);
  }

  /** To an input of the table; -1 is an event it takes no notice of. */
  to(state: number, input: number): TableAnswer {
    if (input < 0) return this.answer(state, state, 0);
    const place = state * this.table.inputs.length + input;
    return this.answer(state, this.table.next[place]!, this.table.output[place]!);
  }

  /** Equal for inputs that the state answers alike. */
  keyTo(state: number, input: number): string {
    if (input < 0) return `${state} 0`;
    const place = state * this.table.inputs.length + input;
    return `${this.table.next[place]} ${this.table.output[place]}`;
  }

  private answer(before: number, state: number, output: number): TableAnswer {
    const key = `${before} ${state} ${output}`;
    let found = this.known.get(key);
    if (found === undefined) {
      const { sends, drives, armed } = this.table.outputs[output]!;
      const old = this.running[before] ?? [];
      const timers = this.running[state]!.map((timer) => {
        const { name, ms } = this.table.timers[timer]!;
        return { timer, name, ms, from: armed.includes(timer) ? -1 : old.indexOf(timer) };
      });
      this.known.set(key, (found = { state, sends, drives, timers }));
    }
    return found;
  }
}

export type Differing = 'sends' | 'drives' | 'timers';

/** In what two answers differ. */
export function differing(before: TableAnswer, after: TableAnswer): Differing[] {
  const found: Differing[] = [];
  if (!alike(before.sends, after.sends)) found.push('sends');
  if (!alike(before.drives, after.drives)) found.push('drives');
  const { length } = before.timers;
  const same =
    length === after.timers.length &&
    before.timers.every(({ name, ms, from }, index) => {
      const other = after.timers[index]!;
      return name === other.name && ms === other.ms && from === other.from;
    });
  if (!same) found.push('timers');
  return found;
}

function alike(before: readonly (Send | Drive)[], after: readonly (Send | Drive)[]): boolean {
  return (
    before.length === after.length && before.every((one, index) => sameWords(one, after[index]!))
  );
}

function sameWords(one: object, other: object): boolean {
  const words = Object.entries(one) as [string, string][];
  const others = other as { readonly [key: string]: string };
  return (
    words.length === Object.keys(other).length &&
    words.every(([key, value]) => others[key] === value)
  );
}
