// A machine with as few states as the model can tell apart. It sees messages, the drives of its plant and the timers it
// counts; a performance time that only marks an answer as late, say, is nothing to it. States that answer every input
// alike are one (a bisimulation, by refinement). A step of a timer that may run out at any time, with nothing to see,
// between two states of one class, is no step: whatever the second may do, the first may do as well.
import type { MachineTable, TableOutput } from '../../machine/table.ts';
import type { DriveWhat } from './side-tables.ts';
import { isCounted, seenDrives } from './side-tables.ts';

/** The same machine for everybody who sees only what the model sees. State 0 stays the first. */
export function quotientOf(machine: MachineTable): MachineTable {
  const seen = whatIsSeen(machine);
  const classOf = refine(machine, seen);
  return merge(machine, seen, classOf);
}

interface Seen {
  readonly outputs: readonly TableOutput[];
  /** [state * inputs.length + input], an index into these outputs. */
  readonly output: Int32Array;
  readonly initialOutput: number;
}

function whatIsSeen(machine: MachineTable): Seen {
  const { states, inputs, outputs } = machine;
  const dark = darkStates(machine);
  const list: TableOutput[] = [];
  const ids = new Map<string, number>();
  const idOf = (output: TableOutput, isDark: boolean): number => {
    const shown = shownOf(machine, output, isDark);
    const key = JSON.stringify(shown);
    let id = ids.get(key);
    if (id === undefined) {
      ids.set(key, (id = list.length));
      list.push(shown);
    }
    return id;
  };
  idOf(outputs[0]!, false);
  const output = machine.output.map((id, place) => {
    return idOf(outputs[id]!, dark[Math.floor(place / inputs.length)] === 1);
  });
  const initialOutput = idOf(outputs[machine.initialOutput]!, false);
  if (states.length === 0) throw new RangeError('a machine without states');
  return { outputs: list, output, initialOutput };
}

function shownOf({ of, timers }: MachineTable, output: TableOutput, dark: boolean): TableOutput {
  const last = new Map<DriveWhat, string>();
  for (const { what, to } of output.drives) {
    if (!seenDrives[of.side].includes(what)) continue;
    if (dark && what === 'output' && to === 'off') continue;
    last.set(what, to);
  }
  const drives = [...last].toSorted(([a], [b]) => (a < b ? -1 : 1));
  return {
    sends: output.sends,
    drives: drives.map(([what, to]) => ({ what, to })) as TableOutput['drives'],
    armed: output.armed.filter((timer) => isCounted(timers[timer]!.name, timers[timer]!.ms)),
  };
}

/** States in which the output is off however they were reached: switching it off there changes nothing. */
function darkStates({ of, states, inputs, outputs, next, output }: MachineTable): Uint8Array {
  const lit = new Uint8Array(states.length);
  const reached = new Uint8Array(states.length);
  if (of.side === 'vehicle') return lit;
  const after = (id: number, before: number): number => {
    const last = outputs[id]!.drives.findLast(({ what }) => what === 'output');
    return last === undefined ? before : Number(last.to !== 'off');
  };
  // Each state is visited once dark and once lit: the list holds 2 × state + lit.
  const todo = [0];
  const known = new Set(todo);
  for (const item of todo) {
    const [state, isLit] = [item >> 1, item & 1];
    reached[state] = 1;
    if (isLit === 1) lit[state] = 1;
    for (let input = 0; input < inputs.length; input += 1) {
      const place = state * inputs.length + input;
      const to = 2 * next[place]! + after(output[place]!, isLit);
      if (known.has(to)) continue;
      known.add(to);
      todo.push(to);
    }
  }
  return reached.map((is, state) => (is === 1 && lit[state] === 0 ? 1 : 0));
}

const isFree = ({ timers }: MachineTable, timer: number): boolean =>
  timer >= 0 && !isCounted(timers[timer]!.name, timers[timer]!.ms);

function refine(machine: MachineTable, seen: Seen): number[] {
  let classOf: number[] = machine.states.map(() => 0);
  let count = 1;
  for (;;) {
    const ids = new Map<string, number>();
    const refined = machine.states.map((_, state) => {
      const key = signature(machine, seen, classOf, state);
      let id = ids.get(key);
      if (id === undefined) ids.set(key, (id = ids.size));
      return id;
    });
    classOf = refined;
    if (ids.size === count) return classOf;
    count = ids.size;
  }
}

function signature(
  machine: MachineTable,
  { output }: Seen,
  classOf: readonly number[],
  state: number,
): string {
  const { states, inputs, next, timers } = machine;
  const own = classOf[state]!;
  const { timers: running } = states[state]!;
  const counted = running.filter((timer) => !isFree(machine, timer));
  const free = new Set<string>();
  const row: (string | number)[] = [own, counted.join('+')];
  for (let input = 0; input < inputs.length; input += 1) {
    const place = state * inputs.length + input;
    const { timer } = inputs[input]!;
    const answer = `${output[place]}>${classOf[next[place]!]}`;
    if (!isFree(machine, timer)) row.push(answer);
    else if (running.includes(timer) && !isInert(own, classOf, next[place]!, output[place]!)) {
      free.add(answer);
    }
  }
  if (timers.length > 0) row.push([...free].toSorted().join(' '));
  return row.join(' ');
}

const isInert = (own: number, classOf: readonly number[], next: number, output: number): boolean =>
  output === 0 && classOf[next] === own;

function merge(machine: MachineTable, seen: Seen, classOf: readonly number[]): MachineTable {
  const { states, inputs, timers } = machine;
  const first: number[] = [];
  for (const [state, own] of classOf.entries()) first[own] ??= state;
  const next = new Int32Array(first.length * inputs.length);
  const output = new Int32Array(next.length);
  for (const [own, state] of first.entries()) {
    for (let input = 0; input < inputs.length; input += 1) {
      const from = state * inputs.length + input;
      next[own * inputs.length + input] = classOf[machine.next[from]!]!;
      output[own * inputs.length + input] = seen.output[from]!;
    }
  }
  const merged = first.map((state, own) => ({
    ...states[state]!,
    timers: states[state]!.timers.filter((timer) => {
      const place = own * inputs.length + timers[timer]!.input;
      return !(isFree(machine, timer) && next[place] === own && output[place] === 0);
    }),
  }));
  const { outputs, initialOutput } = seen;
  return { ...machine, states: merged, outputs, next, output, initialOutput };
}
