// The reader's fast check and trace.schema.json must agree on every line; ajv over the whole published schema is the
// judge, set up here apart from the reader's own use of it.
import { Ajv2020 } from 'ajv/dist/2020.js';
import * as fc from 'fast-check';
import { describe, expect, expectTypeOf, test } from 'vitest';
import { headerOf, observationOf } from '../../src/trace/decode.ts';
import { FIELD_ORDER, type Kind, type ObservationOf } from '../../src/trace/fields.ts';
import type { TraceHeader } from '../../src/trace/observation.ts';
import { headerFault, observationFault } from '../../src/trace/schema.ts';
import schema from '../../src/trace/trace.schema.json' with { type: 'json' };
import { observationLine } from '../../src/trace/writer.ts';
import { observation } from './support.ts';

// `discriminator` is OpenAPI's word; to a validator of JSON Schema alone it says nothing. Infinity, which JSON.parse
// makes of 1e999, is no number of JSON.
const validate = new Ajv2020({ strict: false, strictNumbers: true }).compile(schema);

type Line = Record<string, unknown>;

const lineOf = observation.map((value) => JSON.parse(observationLine(value)) as Line);
const anything = fc.oneof(
  fc.jsonValue({ maxDepth: 1 }),
  fc.constantFrom<unknown>(Infinity, -1, 0, 1, 1.5, 1e300, 4_000_000, -4_000_000, 100.5, 2 ** 53),
  fc.constantFrom('A', 'open', 'vehicle', 'none', 'output', 'cell', 'in', 'voltage', 'message'),
  fc.constantFrom('02:00:00:00:00:01', '02:00:00:00:00:0A', '02:00:00:00:00:01\n'),
);
const fieldName = fc.constantFrom('at', ...new Set(Object.values(FIELD_ORDER).flat()), 'extra');

/** A good line with one field taken away, added or given another value. */
const spoilt = fc
  .tuple(lineOf, fieldName, fc.option(anything, { nil: undefined }))
  .map(([line, name, value]): Line => {
    const changed = Object.entries(line).filter(([field]) => field !== name);
    if (value !== undefined) changed.push([name, value]);
    return Object.fromEntries(changed);
  });

describe('the fast check and the schema', () => {
  test('take every observation', () => {
    fc.assert(
      fc.property(observation, (value) => {
        const line: unknown = JSON.parse(observationLine(value));
        expect(observationOf(line)).toStrictEqual(value);
        expect(validate(line)).toBe(true);
      }),
      { numRuns: 1000 },
    );
  });

  test('agree on every spoilt line, and a refused one is told why', async () => {
    let refused = 0;
    await fc.assert(
      fc.asyncProperty(spoilt, async (line) => {
        const taken = observationOf(line) !== null;
        expect(taken).toBe(validate(line));
        expect((await observationFault(line)) === null).toBe(taken);
        if (!taken) refused += 1;
      }),
      { numRuns: 5000 },
    );
    expect(refused).toBeGreaterThan(1000);
  });

  test('agree on headers', async () => {
    const epoch = fc.constantFrom(
      null,
      '2026-11-25T08:00:00Z',
      '2026-11-25T08:00:00.25Z',
      'now',
      3,
    );
    const limit = fc.double({ noNaN: true, noDefaultInfinity: true });
    const loose = fc.record(
      {
        handfast: fc.constantFrom('trace', 'result', 1),
        version: fc.constantFrom(1, 2, '1'),
        epoch,
        recorder: fc.constantFrom('meter', 1),
        says: fc.constantFrom('cold day', null),
        $schema: fc.constantFrom('./trace.schema.json', 1),
        extra: fc.constant(1),
        cells: fc.constantFrom<unknown>(
          {},
          { highest_V: 4.2 },
          { highest_V: '4.2' },
          { volts: 1 },
          [],
          1,
        ),
      },
      { requiredKeys: [], noNullPrototype: true },
    );
    const header = fc.record(
      {
        handfast: fc.constant('trace'),
        version: fc.constant(1),
        epoch,
        recorder: fc.string(),
        says: fc.string(),
        $schema: fc.string(),
        cells: fc.record(
          { highest_V: limit, lowest_V: limit, hottest_C: limit, coldest_C: limit },
          { requiredKeys: [], noNullPrototype: true },
        ),
      },
      { requiredKeys: ['handfast', 'version', 'epoch'], noNullPrototype: true },
    );
    await fc.assert(
      fc.asyncProperty(fc.oneof(loose, header), async (line) => {
        const taken = headerOf(line) !== null;
        expect(taken).toBe(validate(line));
        expect((await headerFault(line)) === null).toBe(taken);
      }),
      { numRuns: 1000 },
    );
  });

  test.each([
    [
      'at',
      { kind: 'plug', state: 'in' },
      [-3_999_999.5, 0, 3_999_999.5],
      [-4e6, 4e6, Infinity, '1'],
    ],
    ['frame', { at: 0, kind: 'plug', state: 'in' }, [1, 2 ** 53 - 1], [0, -1, 1.5, 2 ** 53, '1']],
    ['duty_percent', { at: 0, kind: 'pilot', state: 'B' }, [0, 100], [-0.1, 100.1, Infinity]],
    ['state', { at: 0, kind: 'pilot' }, ['A', 'F'], ['G', 'a', null, 1]],
    ['voltage_V', { at: 0, kind: 'pilot' }, [-13, 0, 6], ['6', null, Infinity]],
    ['negative_V', { at: 0, kind: 'pilot', voltage_V: 6 }, [-12, 0], ['-12', null, -Infinity]],
    ['ratedVoltage_V', { at: 0, kind: 'isolation', resistance_ohm: 1 }, [1, 500], [0, -1, null]],
    ['byte', { at: 0, kind: 'note', says: '' }, [0, 2 ** 53 - 1], [-1, 0.5, 2 ** 53, null]],
    ['resistance_ohm', { at: 0, kind: 'isolation' }, [0, 1e300], [-1, Infinity, null]],
  ])('agree at the borders of %s', (field, line, good, bad) => {
    for (const value of good) {
      expect(observationOf({ ...line, [field]: value })).not.toBeNull();
      expect(validate({ ...line, [field]: value })).toBe(true);
    }
    for (const value of bad) {
      expect(observationOf({ ...line, [field]: value })).toBeNull();
      expect(validate({ ...line, [field]: value })).toBe(false);
    }
  });

  test.each([[null], [1], ['text'], [[]], [true]])('refuse %j', (line) => {
    expect(observationOf(line)).toBeNull();
    expect(headerOf(line)).toBeNull();
    expect(validate(line)).toBe(false);
  });
});

describe('the schema', () => {
  test('and the writer know every field of the types (checked by the compiler)', () => {
    type Unwritten = {
      [K in Kind]: Exclude<keyof ObservationOf<K>, 'at_ns' | (typeof FIELD_ORDER)[K][number]>;
    }[Kind];
    expectTypeOf<Unwritten>().toBeNever();
    expectTypeOf<
      Exclude<keyof TraceHeader, keyof typeof schema.$defs.header.properties>
    >().toBeNever();
    type CellLimits = keyof NonNullable<TraceHeader['cells']>;
    expectTypeOf<
      Exclude<CellLimits, keyof typeof schema.$defs.header.properties.cells.properties>
    >().toBeNever();
  });

  test('is valid JSON Schema 2020-12, by the meta-schema', () => {
    expect(new Ajv2020({ strict: false }).validateSchema(schema)).toBe(true);
  });

  test.each(Object.keys(FIELD_ORDER) as Kind[])(
    'knows the same fields of %s as the writer',
    (kind) => {
      const fields = Object.keys(schema.$defs[kind].properties);
      expect(fields.sort()).toEqual(['at', ...FIELD_ORDER[kind]].sort());
    },
  );

  test('has a title and a description on every field, for editors', () => {
    const bare = Object.entries(schema.$defs).flatMap(([name, { ...def }]) => {
      const fields = 'properties' in def ? Object.entries(def.properties as object) : [];
      return [
        [name, def] as const,
        ...fields.map(([field, of]) => [`${name}.${field}`, of] as const),
      ]
        .filter(
          ([, of]) => !('$ref' in of) && !('description' in of && ('title' in of || 'const' in of)),
        )
        .map(([where]) => where);
    });
    expect(bare).toEqual([]);
  });
});

describe('why a line is refused', () => {
  test.each([
    [{ at: 1, kind: 'voltage', place: 'output' }, 'voltage_V is missing'],
    [
      { at: 1, kind: 'voltage', place: 'output', voltage_V: '400' },
      'voltage_V must be a number, it is "400"',
    ],
    [
      { at: 1, kind: 'voltage', place: 'outlet', voltage_V: 400 },
      'place must be one of output, inlet, battery, it is "outlet"',
    ],
    [{ at: 1, kind: 'current', current_A: 1, amperes: 1 }, '"amperes" is no field of this kind'],
    [{ at: 1, kind: 'volt' }, /^kind must be one of message, link, .*, it is "volt"$/],
    [{ at: 1 }, 'kind is missing'],
    [{ kind: 'lock', state: 'locked' }, 'at is missing'],
    [{ at: 4e6, kind: 'lock', state: 'locked' }, 'at must be < 4000000, it is 4000000'],
    [
      { at: 1, kind: 'pilot', state: 'B', duty_percent: 101 },
      'duty_percent must be <= 100, it is 101',
    ],
    [{ at: 1, kind: 'pilot', pwm: true }, 'state or voltage_V is missing'],
    [{ at: 1, kind: 'pilot', state: 'G' }, 'state must be one of A, B, C, D, E, F, it is "G"'],
    [{ at: 1, kind: 'pilot', state: 'B', pwm: 1 }, 'pwm must be a boolean, it is 1'],
    [
      { at: 1, kind: 'message', from: 'vehicle', name: 'x', message: [], protocol: 'sdp' },
      'message must be an object, it is a list',
    ],
    [[], 'the line must be an object, it is a list'],
  ])('%j: %s', async (line, fault) => {
    expect(await observationFault(line)).toMatch(fault);
  });
});
