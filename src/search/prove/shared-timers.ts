// Timers of one delay that never run together are one timer to everybody outside the machine: where a chart begins a
// new one in each of its states, its table begins the same one again. States that differ only in which of them runs
// are then one state, and a machine written as a table and read again (machine/table-write.ts) has the same states.
import type { MachineTable, TableInput, TableOutput, TableTimer } from '../../machine/table.ts';

/** The same machine with as few timers as possible; a timer's input is the first of those it stands for. */
export function withSharedTimers(machine: MachineTable): MachineTable {
  const groups = groupsOf(machine);
  const groupOf = new Map(groups.flatMap((group, at) => group.map((timer) => [timer, at])));
  const shared = (timers: readonly number[]): number[] => timers.map((one) => groupOf.get(one)!);
  // Inputs of timers stand behind all others.
  const others = machine.inputs.filter(({ timer }) => timer < 0);
  const timers = groups.map(([first], at): TableTimer => ({
    ...machine.timers[first!]!,
    input: others.length + at,
  }));
  const inputs = [
    ...others,
    ...groups.map(([first], at): TableInput => {
      return { ...machine.inputs[machine.timers[first!]!.input]!, timer: at };
    }),
  ];
  const outputs = machine.outputs.map((output): TableOutput => {
    return { ...output, armed: shared(output.armed) };
  });
  const states = machine.states.map((state) => ({ ...state, timers: shared(state.timers) }));
  return { ...machine, states, inputs, timers, outputs, ...cells(machine, groups, others.length) };
}

function groupsOf({ timers, states }: MachineTable): number[][] {
  const groups: number[][] = [];
  for (const [timer, { name, ms }] of timers.entries()) {
    const group = groups.find(([first, ...more]) => {
      const same = timers[first!]!.name === name && timers[first!]!.ms === ms;
      return same && [first!, ...more].every((other) => !together(states, timer, other));
    });
    if (group === undefined) groups.push([timer]);
    else group.push(timer);
  }
  return groups;
}

const together = (states: MachineTable['states'], a: number, b: number): boolean =>
  states.some(({ timers }) => timers.includes(a) && timers.includes(b));

/** In each state a shared timer does what the one of its group does that runs there. */
function cells(
  { states, inputs, timers, next, output }: MachineTable,
  groups: readonly (readonly number[])[],
  others: number,
): Pick<MachineTable, 'next' | 'output'> {
  const width = others + groups.length;
  const cell = {
    next: new Int32Array(states.length * width),
    output: new Int32Array(states.length * width),
  };
  for (const [state, { timers: running }] of states.entries()) {
    const [from, to] = [state * inputs.length, state * width];
    cell.next.set(next.subarray(from, from + others), to);
    cell.output.set(output.subarray(from, from + others), to);
    for (const [at, group] of groups.entries()) {
      const timer = group.find((one) => running.includes(one)) ?? group[0]!;
      cell.next[to + others + at] = next[from + timers[timer]!.input]!;
      cell.output[to + others + at] = output[from + timers[timer]!.input]!;
    }
  }
  return cell;
}
