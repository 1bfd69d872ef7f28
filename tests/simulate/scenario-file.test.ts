// Scenario files: what is left out, what is wrong and where.
import { describe, expect, it } from 'vitest';
import { readScenario } from '../../src/simulate/scenario-file.ts';
import { SENSOR_NAMES } from '../../src/simulate/sensors.ts';
import { CELL_NAMES } from '../../src/simulate/scenario.ts';
import schema from '../../src/simulate/scenario.schema.json' with { type: 'json' };
import { safetyRules } from '../../src/rules/catalogue.ts';

const read = (text: string) => readScenario(text, 'my.yaml');

describe('a scenario', () => {
  it('is whole when it names a protocol', async () => {
    const scenario = await read('protocol: din70121\n');
    expect(scenario.vehicle.limits).toEqual({ voltage_V: 403, current_A: 250 });
    expect(scenario.charger.ratedVoltage_V).toBe(500);
    expect(scenario).toMatchObject({ seed: 1, faults: [], choices: [], linkDelay_ms: 2 });
  });

  it('keeps what it says beside what it does not say', async () => {
    const scenario = await read(`
protocol: iso15118-2
vehicle:
  pack: { cells: 192, spread: { capacity: 0.05 } }
  limits: { current_A: 80 }
`);
    // 192 × 4.2 V; a charger of the 1000 V class, then.
    expect(scenario.vehicle.limits).toEqual({ voltage_V: 806, current_A: 80 });
    expect(scenario.vehicle.pack.spread).toMatchObject({ capacity: 0.05, resistance: 0.02 });
    expect(scenario.charger.ratedVoltage_V).toBe(1000);
  });

  it('is JSON as well', async () => {
    const text = JSON.stringify({ $schema: 'scenario.schema.json', protocol: 'din70121', seed: 9 });
    expect((await read(text)).seed).toBe(9);
  });
});

describe('what is wrong with a scenario is told with its line', () => {
  it.each([
    ['seed: 1\n', 'protocol is missing'],
    ['protocol: din70121\nvehicel: {}\n', 'my.yaml, line 2: '],
    ['protocol: chademo\n', 'my.yaml, line 1: '],
    ['protocol: din70121\nvehicle:\n  pack:\n    cells: 0\n', 'line 4'],
    ['protocol: din70121\nfaults:\n  - { at_s: 1, what: flood }\n', 'line 3'],
    [
      'protocol: din70121\nfaults:\n  - { at_s: 1, what: alarm, side: both, alarm: crash }\n',
      'line 3',
    ],
    ['protocol: din70121\n  seed: [\n', 'line'],
    ['- a list\n', 'object'],
    ['', 'object'],
  ])('%j', async (text, says) => {
    await expect(read(text)).rejects.toThrow(says);
    await expect(read(text)).rejects.toMatchObject({ name: 'InputError' });
  });

  it('and hostile ones are refused, not unfolded', async () => {
    const bombs = Array.from({ length: 12 }, (_, i) => {
      const inner = i === 0 ? '"x"' : `*a${i - 1}`;
      return `a${i}: &a${i} [${Array.from({ length: 9 }, () => inner).join(', ')}]`;
    });
    await expect(read(bombs.join('\n'))).rejects.toMatchObject({ name: 'InputError' });
    await expect(read(`says: ${'x'.repeat(1_000_001)}`)).rejects.toThrow('longer than');
  });
});

describe('the schema', () => {
  it('names the sensors, the cells and, in what is expected, nothing that is no rule', () => {
    const fault = schema.$defs.fault.oneOf.find(({ properties }) => 'sensor' in properties)!;
    const { sensor } = fault.properties as unknown as { sensor: { enum: string[] } };
    expect(sensor.enum).toEqual(SENSOR_NAMES);
    expect(schema.$defs.pack.properties.cell.enum).toEqual(CELL_NAMES);
    const rules = safetyRules.map(({ id }) => id as string);
    expect(schema.properties.expect.properties.broken.items.enum).toEqual(rules);
  });
});
