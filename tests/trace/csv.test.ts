import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { openCsv } from '../../src/trace/csv.ts';
import { columnNames, CSV_COLUMNS } from '../../src/trace/csv-columns.ts';
import { InputError } from '../../src/trace/input-error.ts';
import type { Observation } from '../../src/trace/observation.ts';
import { openTrace } from '../../src/trace/reader.ts';
import { headerLine, observationLine } from '../../src/trace/writer.ts';
import { allOf, bytesOf } from './support.ts';

async function logOf(text: string, chunkBytes?: number): Promise<Observation[]> {
  return allOf(await openCsv(bytesOf(text, chunkBytes), 'meter.csv'));
}

/** The observations, or the message of why there are none. */
async function outcomeOf(text: string): Promise<Observation[] | string> {
  try {
    return await logOf(text);
  } catch (error) {
    return (error as Error).message;
  }
}

async function failureOf(text: string): Promise<InputError> {
  try {
    await logOf(text);
  } catch (error) {
    if (error instanceof InputError) return error;
    throw error;
  }
  throw new Error('it was read');
}

describe('a log', () => {
  test('of a meter', async () => {
    const text = 'time_s,output_voltage_V,current_A\n0,12.5,0\n0.1,399.75,-0.25\n0.2,,1e1\n';
    const trace = await openCsv(bytesOf(text), 'meter.csv');
    expect(trace.header).toEqual({
      handfast: 'trace',
      version: 1,
      epoch: null,
      recorder: 'meter.csv',
    });
    expect(await allOf(trace)).toStrictEqual([
      { kind: 'voltage', at_ns: 0, place: 'output', voltage_V: 12.5 },
      { kind: 'current', at_ns: 0, current_A: 0 },
      { kind: 'voltage', at_ns: 100_000_000, place: 'output', voltage_V: 399.75 },
      { kind: 'current', at_ns: 100_000_000, current_A: -0.25 },
      { kind: 'current', at_ns: 200_000_000, current_A: 10 },
    ]);
  });

  test('of a pilot recorder in a country with decimal commas, in wall-clock time', async () => {
    const text =
      '\uFEFFtime;duty_percent;pilot;plug;lock\r\n' +
      '2026-11-25T09:00:00.5+01:00;;A1;out;0\r\n' +
      '2026-11-25T08:00:01.000000001Z;5,05;B2;in;locked\r\n' +
      '2026-11-25T08:00:02Z;4,9;;;\r\n';
    const trace = await openCsv(bytesOf(text, 7), 'pilot.csv');
    expect(trace.header.epoch).toBe('2026-11-25T08:00:00.500000000Z');
    expect(await allOf(trace)).toStrictEqual([
      { kind: 'pilot', at_ns: 0, state: 'A', pwm: false },
      { kind: 'lock', at_ns: 0, state: 'unlocked' },
      { kind: 'plug', at_ns: 0, state: 'out' },
      { kind: 'pilot', at_ns: 500_000_001, state: 'B', pwm: true, duty_percent: 5.05 },
      { kind: 'lock', at_ns: 500_000_001, state: 'locked' },
      { kind: 'plug', at_ns: 500_000_001, state: 'in' },
      { kind: 'pilot', at_ns: 1_500_000_000, state: 'B', duty_percent: 4.9 },
    ]);
  });

  test('of a pilot in volts; a row of the duty cycle alone keeps what stood before it', async () => {
    const text = 'time_s,pilot_V,duty_percent\n0,,5\n1,9.02,\n2,,5\n3,6,4.9\n4,-12,0\n';
    expect(await logOf(text)).toStrictEqual([
      { kind: 'pilot', at_ns: 1e9, voltage_V: 9.02 },
      { kind: 'pilot', at_ns: 2e9, voltage_V: 9.02, duty_percent: 5 },
      { kind: 'pilot', at_ns: 3e9, voltage_V: 6, duty_percent: 4.9 },
      { kind: 'pilot', at_ns: 4e9, voltage_V: -12, duty_percent: 0 },
    ]);
  });

  test('with every column, quoted headings, tabs, and units scaled without rounding', async () => {
    const cells: [string, string][] = [
      ['"time_s"', '1'],
      ['voltage_kV', '0.4001'],
      ['inlet_voltage_mV', '399900.3'],
      ['battery_voltage_V', '3.991e2'],
      ['current_mA', '-1500.7'],
      ['pilot', 'C2'],
      ['pilot_mV', '6021'],
      ['duty_percent', '5'],
      ['vehicle_contactor', 'closed'],
      ['charger_contactor', '0'],
      ['lock', '1'],
      ['plug', 'IN'],
      ['cell_max_V', '4.151'],
      ['cell_min_mV', '4103'],
      ['cell_temperature_C', '-3.5'],
      ['connector_temperature_C', '41'],
      ['isolation_kohm', '512.3'],
      ['alarm_vehicle', 'stop asked'],
      ['alarm_charger', '"none"'],
    ];
    const at_ns = 1_000_000_000;
    const text = [0, 1].map((row) => cells.map((cell) => cell[row]).join('\t')).join('\n');
    expect(await logOf(text)).toStrictEqual([
      { kind: 'voltage', at_ns, place: 'output', voltage_V: 400.1 },
      { kind: 'voltage', at_ns, place: 'inlet', voltage_V: 399.9003 },
      { kind: 'voltage', at_ns, place: 'battery', voltage_V: 399.1 },
      { kind: 'current', at_ns, current_A: -1.5007 },
      { kind: 'pilot', at_ns, state: 'C', voltage_V: 6.021, pwm: true, duty_percent: 5 },
      { kind: 'contactor', at_ns, side: 'vehicle', state: 'closed' },
      { kind: 'contactor', at_ns, side: 'charger', state: 'open' },
      { kind: 'lock', at_ns, state: 'locked' },
      { kind: 'plug', at_ns, state: 'in' },
      { kind: 'cells', at_ns, highest_V: 4.151, lowest_V: 4.103 },
      { kind: 'temperature', at_ns, place: 'cell', temperature_C: -3.5 },
      { kind: 'temperature', at_ns, place: 'connector', temperature_C: 41 },
      { kind: 'isolation', at_ns, resistance_ohm: 512_300 },
      { kind: 'alarm', at_ns, side: 'vehicle', alarm: 'stop asked' },
      { kind: 'alarm', at_ns, side: 'charger', alarm: 'none' },
    ]);
  });

  test('reads the same with its cells in quotes', async () => {
    const cell = fc.string({
      unit: fc.constantFrom(...'0123456789.,-e '),
      minLength: 1,
      maxLength: 6,
    });
    await fc.assert(
      fc.asyncProperty(
        fc.constantFrom(';', '\t'),
        fc.array(fc.tuple(cell, cell)),
        async (mark, rows) => {
          const logWith = (quote: string): string =>
            [['time_s', 'current_A'], ...rows]
              .map((cells) => cells.map((text) => ` ${quote}${text}${quote} `).join(mark))
              .join('\n');
          expect(await outcomeOf(logWith('"'))).toEqual(await outcomeOf(logWith('')));
        },
      ),
      { numRuns: 300 },
    );
  });

  test('may have other columns, which are told once', async () => {
    const text = 'operator,time_s,current_A,shift\n"Ann, B.",1,2,late\nBo,2,3,late\n';
    const [note, ...rest] = await logOf(text);
    expect(note).toEqual({
      kind: 'note',
      at_ns: 1_000_000_000,
      says: 'columns not read: "operator", "shift"',
    });
    expect(rest.map(({ kind }) => kind)).toEqual(['current', 'current']);
  });

  test('makes one observation of the cells a row', async () => {
    expect(await logOf('time_s,cell_min_V,cell_max_V\n0,3.9,4.1\n1,,4.2\n2,,\n')).toStrictEqual([
      { kind: 'cells', at_ns: 0, highest_V: 4.1, lowest_V: 3.9 },
      { kind: 'cells', at_ns: 1_000_000_000, highest_V: 4.2 },
    ]);
  });

  test('may have blank lines, trailing separators and a clock that steps back', async () => {
    const all = await logOf('\n\ntime_s,plug\n\n2,in,\n,,\n1,in\n\n');
    expect(all.map(({ kind, at_ns }) => [kind, at_ns / 1e9])).toEqual([
      ['plug', 2],
      ['note', 1],
      ['plug', 1],
    ]);
    expect(all[1]).toMatchObject({ says: 'line 7: the clock steps back by 1 s', problem: 'clock' });
  });

  test('may break off inside its last row', async () => {
    expect(await logOf('time_s,current_A,voltage_V\n1,2,3\n2,3')).toMatchObject([
      { kind: 'voltage', voltage_V: 3 },
      { kind: 'current', current_A: 2 },
      { kind: 'note', says: 'line 3: the log breaks off inside it', problem: 'cut' },
    ]);
  });

  test('makes only observations that a trace can hold', async () => {
    const headings = [
      'time_s',
      ...CSV_COLUMNS.map((c) => (c.form === 'word' ? c.name : `${c.name}_${c.unit}`)),
    ];
    const cell = CSV_COLUMNS.map((column) =>
      column.form === 'word'
        ? fc.constantFrom(...column.words.keys())
        : fc.double({
            noNaN: true,
            min: Math.max(column.least, -1e300),
            max: Math.min(column.most, 1e300),
          }),
    );
    const row = fc.tuple(
      ...cell.map((value) => fc.option(value as fc.Arbitrary<unknown>, { nil: '' })),
    );
    await fc.assert(
      fc.asyncProperty(fc.array(row, { minLength: 1, maxLength: 5 }), async (rows) => {
        const text = [headings, ...rows.map((cells, index) => [index, ...cells])]
          .map((cells) => cells.join(','))
          .join('\n');
        const trace = await openCsv(bytesOf(text), 'meter.csv');
        const all = await allOf(trace);
        const filled = rows.flat().filter((value) => value !== '').length;
        expect(all.length).toBeLessThanOrEqual(filled);
        const written = [headerLine(trace.header), ...all.map(observationLine)].join('\n');
        const again = await allOf(await openTrace(bytesOf(written), 'a.jsonl'));
        // -0 has no place in JSON text of the writer.
        expect(again).toEqual(JSON.parse(JSON.stringify(all)));
      }),
    );
  });
});

describe('a log that cannot be read', () => {
  test.each([
    ['nothing', '', 'meter.csv: the log holds no readings'],
    ['a heading alone', 'time_s,current_A\n', 'meter.csv: the log holds no readings'],
    ['no time', 'current_A\n1\n', 'meter.csv, line 1: the heading has no time column'],
    ['two times', 'time_s,time,plug\n', 'meter.csv, line 1: the heading has two time columns'],
    ['only time', 'time_s,x\n1,2\n', 'meter.csv, line 1: the heading has no column to read'],
    [
      'the same quantity twice',
      'time_s,current_A,current_mA\n',
      'meter.csv, line 1: the heading has two columns for current',
    ],
    [
      'the pilot in two units',
      'time_s,pilot,pilot_V,pilot_mV\n',
      'meter.csv, line 1: the heading has two columns for pilot',
    ],
    [
      'a duty cycle of no pilot',
      'time_s,duty_percent\n',
      'meter.csv, line 1: the heading has a duty cycle without a column pilot or pilot_V',
    ],
    [
      'no number',
      'time_s,current_A,voltage_V\n1,2,3\n2,1..5,3\n',
      'meter.csv, line 3: column current_A: "1..5" is not a number',
    ],
    [
      'a decimal comma between commas',
      'time_s,current_A\n1,2,5\n',
      'meter.csv, line 2: 3 cells where the heading has 2',
    ],
    [
      'thousands marked',
      'time_s;voltage_mV\n1;1.234,5\n',
      'meter.csv, line 2: column voltage_mV: "1.234,5" is not a number',
    ],
    [
      'a decimal comma in quotes between commas',
      'time_s,current_A\n1,"2,5"\n',
      'column current_A: "2,5" is not a number',
    ],
    ['a decimal comma between tabs', 'time_s\tcurrent_A\n1\t2,5\n', '"2,5" is not a number'],
    ['infinity', 'time_s,current_A\n1,1e999\n', 'column current_A: "1e999" is not a number'],
    ['hexadecimal', 'time_s,current_A\n1,0x10\n', 'column current_A: "0x10" is not a number'],
    [
      'a negative resistance',
      'time_s,isolation_kohm\n1,-1\n',
      'meter.csv, line 2: column isolation_kohm: "-1" is not at least 0',
    ],
    [
      'a duty cycle beyond 100 %',
      'time_s,pilot,duty_percent\n1,B2,101\n',
      'column duty_percent: "101" is not from 0 to 100',
    ],
    [
      'an unknown word',
      'time_s,lock\n1,shut\n',
      'column lock: "shut" is not one of locked, unlocked, 0, 1',
    ],
    ['no time in a row', 'time_s,plug\n,in\n', 'column time_s: "" is not a number'],
    [
      'no zone',
      'time,plug\n2026-11-25T08:00:00,in\n',
      'column time: "2026-11-25T08:00:00" is not a time',
    ],
    [
      'seconds of 1970',
      'time_s,plug\n1795593600,in\n',
      '"1795593600" is more than 4000000 s from the start',
    ],
    [
      'too few cells',
      'time_s,plug,lock\n1,in\n2,in,1\n',
      'meter.csv, line 2: 2 cells where the heading has 3',
    ],
    [
      'a stray quote',
      'time_s,plug\n1,in\n2,"i"n""\n',
      'meter.csv, line 3: a quoted cell cannot be read',
    ],
    [
      'an open quote',
      'time_s,plug\n1,"in\n2,in\n',
      'meter.csv, line 2: a quoted cell cannot be read',
    ],
    [
      'a quote over two lines',
      'time_s,plug\n1,"i\nn"\n',
      'meter.csv, line 2: a quoted cell cannot be read',
    ],
    [
      'a line beyond all reason',
      `time_s,plug\n1,${'x'.repeat(2e6)}`,
      'meter.csv, line 2: the line is too long',
    ],
  ])('%s', async (_what, text, message) => {
    expect((await failureOf(text)).message).toMatch(message);
  });

  test('is told the columns there are', async () => {
    const { mend } = await failureOf('a,b\n1,2\n');
    expect(mend).toBe(`columns are ${columnNames()}`);
    for (const { name } of CSV_COLUMNS) expect(mend).toContain(name);
  });

  test('keeps the rows before the bad cell', async () => {
    const rows = Array.from({ length: 100 }, (_, index) => `${index},in`).join('\n');
    const { observations } = await openCsv(bytesOf(`time_s,plug\n${rows}\n100,?\n`), 'meter.csv');
    let count = 0;
    const reading = (async () => {
      for await (const batch of observations) count += batch.length;
    })();
    await expect(reading).rejects.toThrow('line 102');
    expect(count).toBe(100);
  });

  test('random bytes end in observations or an InputError', async () => {
    const tail = fc.string({
      unit: fc.constantFrom(...'0123456789.,;"\t\n\r eAB-'),
      maxLength: 60,
    });
    await fc.assert(
      fc.asyncProperty(tail, fc.uint8Array({ maxLength: 20 }), async (text, bytes) => {
        const content = Buffer.concat([Buffer.from(`time_s,current_A,pilot\n${text}`), bytes]);
        try {
          await allOf(await openCsv(bytesOf(content), 'meter.csv'));
        } catch (error) {
          expect(error).toBeInstanceOf(InputError);
        }
      }),
      { numRuns: 500 },
    );
  });
});
