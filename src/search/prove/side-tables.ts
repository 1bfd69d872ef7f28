// One side's machine as tables of the model: next state, what is sent, what is driven, which timers run.
import type { MachineTable } from '../../machine/table.ts';
import type { ModelBuilder, TableTerm } from '../model/build.ts';
import type { Side } from '../../trace/observation.ts';
import type { Exchange } from './exchange.ts';

/** Digital clocks count in steps of this; it is the shortest timer that a side waits for. */
export const TICK_ms = 250;
/** Timers longer than this may fire at any time: they only end a session. */
export const LONGEST_CLOCK_ms = 10_000;

export const DRIVES = {
  contactors: ['open', 'closed'],
  lock: ['unlocked', 'locked'],
  pilot: ['B', 'C', 'X1'],
  output: ['off', 'test', 'precharge', 'on'],
  alarm: ['fault'],
} as const;
export type DriveWhat = keyof typeof DRIVES;

/** What of a side's drives the plant of the model has. */
export const seenDrives: Readonly<Record<Side, readonly DriveWhat[]>> = {
  vehicle: ['contactors', 'lock', 'pilot', 'alarm'],
  charger: ['output'],
};

export interface SideTables {
  readonly side: Side;
  readonly machine: MachineTable;
  /** [state, input] → next state, and → what comes out. */
  readonly next: TableTerm;
  readonly output: TableTerm;
  /** [output] → how many message classes it may be sent as; [output, which of them] → the class. */
  readonly sendCount: TableTerm;
  readonly sends: TableTerm;
  /** [output] → 0 for no command, else 1 + the index in DRIVES. */
  readonly drives: Readonly<Record<DriveWhat, TableTerm>>;
  readonly clocks: readonly Clock[];
  /** Inputs of timers that may fire at any time. */
  readonly free: readonly number[];
}

/** Timers that never run together share a clock. */
interface Clock {
  readonly variable: string;
  /** Longest of its timers, in ticks, and where it starts. */
  readonly ticks: number;
  readonly initial: number;
  readonly timers: readonly number[];
  /** [state] → 1 + index of the timer that runs on it, 0 for none. */
  readonly running: TableTerm;
  /** [output, next state] → ticks to start with, 0 to go on or rest. */
  readonly starts: TableTerm;
}

export function sideTables(
  builder: ModelBuilder,
  side: Side,
  machine: MachineTable,
  exchange: Exchange,
): SideTables {
  const { states, inputs, outputs, next, output } = machine;
  const table = (name: string, dimensions: number[], values: ArrayLike<number>): TableTerm =>
    builder.table(`${side}_${name}`, dimensions, values);
  const sends = outputs.map((one) => one.sends.flatMap((send) => exchange.classesOf(side, send)));
  const most = Math.max(1, ...sends.map((classes) => classes.length));
  const counted = machine.timers.map(({ name, ms }) => isCounted(name, ms));
  return {
    side,
    machine,
    next: table('next', [states.length, inputs.length], next),
    output: table('output', [states.length, inputs.length], output),
    sendCount: table(
      'send_count',
      [outputs.length],
      sends.map((classes) => classes.length),
    ),
    sends: table(
      'sends',
      [outputs.length, most],
      sends.flatMap((classes) => Array.from({ length: most }, (_, at) => classes[at] ?? 0)),
    ),
    drives: {
      contactors: driveTable(machine, 'contactors', table),
      lock: driveTable(machine, 'lock', table),
      pilot: driveTable(machine, 'pilot', table),
      output: driveTable(machine, 'output', table),
      alarm: driveTable(machine, 'alarm', table),
    },
    clocks: clocksOf(machine, counted, table),
    free: machine.timers.flatMap((timer, index) => (counted[index] ? [] : [timer.input])),
  };
}

/**
 * A performance time only marks an answer as late. The link may delay a message for as long as it likes, so when it runs
 * out makes no difference to anybody: it is no clock. Nor are the timers that end a session which is over already.
 */
export function isCounted(name: string, ms: number): boolean {
  return ms <= LONGEST_CLOCK_ms && !UNCOUNTED.some((start) => name.startsWith(start));
}

const UNCOUNTED = [
  'V2G_SECC_Msg_Performance_Time',
  'V2G_SECC_TCP_Close_Wait',
  'V2G_SECC_CPOscillator_Retain_Time',
];

type MakeTable = (name: string, dimensions: number[], values: ArrayLike<number>) => TableTerm;

function driveTable({ outputs }: MachineTable, what: DriveWhat, table: MakeTable): TableTerm {
  const words: readonly string[] = DRIVES[what];
  const values = outputs.map(({ drives }) => {
    const last = drives.findLast((drive) => drive.what === what);
    return last === undefined ? 0 : 1 + words.indexOf(last.to);
  });
  return table(`drive_${what}`, [outputs.length], values);
}

function clocksOf(machine: MachineTable, counted: boolean[], table: MakeTable): Clock[] {
  const groups: number[][] = [];
  for (const [timer, is] of counted.entries()) {
    if (!is) continue;
    const free = groups.find((group) => group.every((other) => !together(machine, timer, other)));
    if (free === undefined) groups.push([timer]);
    else free.push(timer);
  }
  return groups.map((timers, index) => clockOf(machine, timers, index, table));
}

const together = ({ states }: MachineTable, a: number, b: number): boolean =>
  states.some(({ timers }) => timers.includes(a) && timers.includes(b));

const ticksOf = (ms: number): number => Math.ceil(ms / TICK_ms);

function clockOf(machine: MachineTable, timers: number[], index: number, table: MakeTable): Clock {
  const { states, outputs, initialOutput } = machine;
  const running = states.map(
    (state) => 1 + timers.findIndex((timer) => state.timers.includes(timer)),
  );
  const starts = outputs.flatMap(({ armed }) =>
    running.map((one) => {
      const timer = timers[one - 1];
      return timer !== undefined && armed.includes(timer) ? ticksOf(machine.timers[timer]!.ms) : 0;
    }),
  );
  return {
    variable: `clock_${index}`,
    initial: starts[initialOutput * states.length]!,
    ticks: Math.max(...timers.map((timer) => ticksOf(machine.timers[timer]!.ms))),
    timers,
    running: table(`clock_${index}_running`, [states.length], running),
    starts: table(`clock_${index}_starts`, [outputs.length, states.length], starts),
  };
}
