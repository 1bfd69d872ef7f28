// The columns a CSV log may have: one table for reading them and for telling which there are.
import type { CsvRow } from './csv-row.ts';
import {
  ALARMS,
  CONTACTOR_STATES,
  LOCK_STATES,
  type ObservationOf,
  PILOT_STATES,
  PLUG_STATES,
} from './fields.ts';
import type { Side } from './observation.ts';

/** Power of ten from each unit a column may be in to the unit of the trace, which stands first. */
const SCALES = {
  V: { V: 0, mV: -3, kV: 3 },
  A: { A: 0, mA: -3, kA: 3 },
  ohm: { ohm: 0, kohm: 3, Mohm: 6 },
  C: { C: 0 },
  percent: { percent: 0 },
} as const satisfies Record<string, Record<string, number>>;

type Unit = keyof typeof SCALES;

interface NumberColumn {
  form: 'number';
  name: string;
  says: string;
  unit: Unit;
  least: number;
  most: number;
  add: (row: CsvRow, value: number) => void;
}

interface WordColumn {
  form: 'word';
  name: string;
  says: string;
  /** What may stand in a cell, and the word of the trace it means. */
  words: ReadonlyMap<string, string>;
  add: (row: CsvRow, word: string) => void;
}

export type CsvColumn = NumberColumn | WordColumn;

function numbers(
  name: string,
  unit: Unit,
  says: string,
  add: NumberColumn['add'],
  { least = -Infinity, most = Infinity } = {},
): NumberColumn {
  return { form: 'number', name, says, unit, least, most, add };
}

function words<T extends string>(
  name: string,
  says: string,
  allowed: ReadonlyMap<string, T>,
  add: (row: CsvRow, word: T) => void,
): WordColumn {
  // `add` is only ever handed a word out of `allowed`.
  return { form: 'word', name, says, words: allowed, add: add as WordColumn['add'] };
}

/** Each word for itself, and the digits a logger's digital input writes. */
function orDigits<T extends string>(known: ReadonlySet<T>, zero: T, one: T): Map<string, T> {
  return new Map<string, T>([...known].map((word): [string, T] => [word, word]))
    .set('0', zero)
    .set('1', one);
}

function voltage(
  name: string,
  place: ObservationOf<'voltage'>['place'],
  says: string,
): NumberColumn {
  return numbers(name, 'V', says, (row, voltage_V) => {
    row.push({ kind: 'voltage', at_ns: row.at_ns, place, voltage_V });
  });
}

function temperature(place: 'cell' | 'connector', says: string): NumberColumn {
  return numbers(`${place}_temperature`, 'C', says, (row, temperature_C) => {
    row.push({ kind: 'temperature', at_ns: row.at_ns, place, temperature_C });
  });
}

function contactor(side: Side): WordColumn {
  const allowed = orDigits(CONTACTOR_STATES, 'open', 'closed');
  return words(`${side}_contactor`, `the ${side}'s contactors`, allowed, (row, state) => {
    row.push({ kind: 'contactor', at_ns: row.at_ns, side, state });
  });
}

function alarm(side: Side): WordColumn {
  const allowed = new Map([...ALARMS].map((word) => [word, word]));
  return words(`alarm_${side}`, `the ${side}'s alarm`, allowed, (row, what) => {
    row.push({ kind: 'alarm', at_ns: row.at_ns, side, alarm: what });
  });
}

type PilotState = NonNullable<ObservationOf<'pilot'>['state']>;

/** A to F, and the states that the digit splits in two: 2 when the oscillator runs, 1 when it does not. */
const PILOT_WORDS = new Map(
  [...PILOT_STATES, 'A1', 'A2', 'B1', 'B2', 'C1', 'C2', 'D1', 'D2'].map((word) => [word, word]),
);

/** The cells of a row become observations in this order. */
export const CSV_COLUMNS: readonly CsvColumn[] = [
  voltage('voltage', 'output', "voltage at the charger's output"),
  voltage('output_voltage', 'output', "voltage at the charger's output"),
  voltage('inlet_voltage', 'inlet', "voltage at the vehicle's inlet, before its contactors"),
  voltage('battery_voltage', 'battery', "voltage behind the vehicle's contactors"),
  numbers('current', 'A', 'current, positive into the vehicle', (row, current_A) => {
    row.push({ kind: 'current', at_ns: row.at_ns, current_A });
  }),
  words(
    'pilot',
    'pilot state; A2: the oscillator runs, A1: it does not',
    PILOT_WORDS,
    (row, word) => {
      const pilot = row.pilot({ state: word[0] as PilotState });
      if (word.length > 1) pilot.pwm = word[1] === '2';
    },
  ),
  numbers(
    'pilot',
    'V',
    "positive peak of the pilot at the charger's terminals",
    (row, voltage_V) => {
      row.pilot({ voltage_V });
    },
  ),
  numbers(
    'duty',
    'percent',
    'duty cycle of the pilot, in the state of its row or else the last one before it',
    (row, duty_percent) => {
      const pilot = row.pilotSoFar();
      if (pilot !== undefined) pilot.duty_percent = duty_percent;
    },
    { least: 0, most: 100 },
  ),
  contactor('vehicle'),
  contactor('charger'),
  words(
    'lock',
    "the connector's lock",
    orDigits(LOCK_STATES, 'unlocked', 'locked'),
    (row, state) => {
      row.push({ kind: 'lock', at_ns: row.at_ns, state });
    },
  ),
  words('plug', 'connector in the inlet', orDigits(PLUG_STATES, 'out', 'in'), (row, state) => {
    row.push({ kind: 'plug', at_ns: row.at_ns, state });
  }),
  numbers('cell_max', 'V', 'highest cell voltage', (row, value_V) => {
    row.cells().highest_V = value_V;
  }),
  numbers('cell_min', 'V', 'lowest cell voltage', (row, value_V) => {
    row.cells().lowest_V = value_V;
  }),
  temperature('cell', 'temperature of a cell'),
  temperature('connector', 'temperature of the connector'),
  numbers(
    'isolation',
    'ohm',
    'isolation resistance, both rails in parallel to earth',
    (row, resistance_ohm) => {
      row.push({ kind: 'isolation', at_ns: row.at_ns, resistance_ohm });
    },
    { least: 0 },
  ),
  alarm('vehicle'),
  alarm('charger'),
];

/** A column of a file: which one it is, and the power of ten from its unit to the trace's. */
export interface BoundColumn {
  column: CsvColumn;
  scale: number;
}

const BOUND = new Map<string, BoundColumn>();
for (const column of CSV_COLUMNS) {
  if (column.form === 'word') BOUND.set(column.name, { column, scale: 0 });
  else {
    for (const [unit, scale] of Object.entries(SCALES[column.unit])) {
      BOUND.set(`${column.name}_${unit}`, { column, scale });
    }
  }
}

/** The column a heading names, such as `output_voltage_mV` or `lock`. */
export function columnNamed(heading: string): BoundColumn | undefined {
  return BOUND.get(heading);
}

/** What the headings of a file may be, for messages: the time first, then each column in its first unit. */
export function columnNames(): string {
  const names = CSV_COLUMNS.map((column) =>
    column.form === 'word' ? column.name : `${column.name}_${column.unit}`,
  );
  return ['time_s or time', ...names].join(', ');
}
