// Parameter files: what moved, and what stops it. Expected figures are worked by hand from the sources named.
import { describe, expect, it } from 'vitest';
import { compareParameters } from '../../../src/search/parameters/compare-parameters.ts';
import {
  readParameters,
  type ParameterSet,
} from '../../../src/search/parameters/parameter-file.ts';
import { stopsOf, type Stop } from '../../../src/search/parameters/stops.ts';

const read = (more: string): Promise<ParameterSet> =>
  readParameters(`handfast: parameters\nprotocol: din70121\n${more}`, 'p.yaml');

async function stop(what: Stop['what'], more: string): Promise<Stop> {
  return stopsOf(await read(more)).find((one) => one.what === what)!;
}

const LIMITS =
  'vehicle: { limits: { voltage_V: 400, current_A: 180 } }\nconnector: { rated_A: 200 }\n';

describe('what stops it', () => {
  // 3 × 60 Ah at 1.5 capacities an hour (NMC_FAST_CHARGE, from memory) is 270 A, less the smallest of 96 cells.
  it('the weakest cell takes what its charge rate allows', async () => {
    const found = await stop('weakest cell, current', LIMITS);
    expect(found.by).toBe('vehicle.limits.current_A');
    expect(found.limit).toBeGreaterThan(258);
    expect(found.limit).toBeLessThan(270);
  });

  // 0.3 capacities an hour below 10 °C: at most 54 A.
  it('a cold pack takes a fifth, and nothing here stops 180 A', async () => {
    const found = await stop(
      'weakest cell, current',
      'vehicle: { pack: { temperature_C: 4 }, limits: { current_A: 180 } }',
    );
    expect(found.by).toBeNull();
    expect(found.limit).toBeLessThan(54);
  });

  it('a weak cell takes less than the others: half the capacity, half the current', async () => {
    const weak = 'vehicle: { pack: { weakCell: { capacity: 0.5 } }, limits: { current_A: 180 } }';
    const found = await stop('weakest cell, current', weak);
    expect(found).toMatchObject({ by: null, limit: 135 });
  });

  it('the charger may be what stops the vehicle, by current or by power', async () => {
    const charger = 'vehicle: { limits: { current_A: 400 } }\ncharger: { limits: ';
    const by = async (limits: string) =>
      (await stop('weakest cell, current', `${charger}${limits} }`)).by;
    expect(await by('{ current_A: 150 }')).toBe('charger.limits.current_A');
    expect(await by('{ current_A: 400, power_W: 50000 }')).toBe('charger.limits.power_W');
  });

  // The rise goes with the square of the current: 50 K · (180 / 200)² = 40.5 K over 40 °C.
  it('contacts warm with the square of the current', async () => {
    expect(await stop('connector', LIMITS)).toMatchObject({
      reached: 80.5,
      limit: 90,
      by: 'vehicle.limits.current_A',
    });
  });

  // 50 K · (300 / 200)² = 112.5 K; 50 K of it after −600 s · ln(1 − 50 / 112.5) = 353 s.
  it('contacts that grow too hot are stopped by a sensor, or by nothing', async () => {
    const hot = 'vehicle: { limits: { current_A: 300 } }\nconnector: { rated_A: 200';
    const found = await stop('connector', `${hot} }`);
    expect(found).toMatchObject({ reached: 152.5, by: null });
    expect(found.says).toContain('past 90 °C after 353 s');
    expect((await stop('connector', `${hot}, highest_C: 85 }`)).by).toBe('connector.highest_C');
    expect((await stop('connector', `${hot}, highest_C: 110 }`)).by).toBeNull();
  });

  it.each([
    [10, 'vehicle.closesWithin_V'],
    [20, 'vehicle.closesWithin_V'],
    [21, null],
  ])('a gate of %d V is held by %s', async (gate, by) => {
    expect((await stop('closing gate', `vehicle: { closesWithin_V: ${gate} }`)).by).toBe(by);
  });

  // 96 × 4.2 V.
  it('a voltage limit above what all cells bear is stopped by the charger, if at all', async () => {
    const high = 'vehicle: { limits: { voltage_V: 420 } }';
    expect(await stop('weakest cell, voltage', high)).toMatchObject({ limit: 403.2, by: null });
    expect(
      (await stop('weakest cell, voltage', `${high}\ncharger: { limits: { voltage_V: 400 } }`)).by,
    ).toBe('charger.limits.voltage_V');
  });
});

describe('a comparison', () => {
  it('tells each limit that moved, with its unit', async () => {
    const found = compareParameters(
      await read(LIMITS),
      await read(LIMITS.replace('180', '190').replace('400', '398')),
    );
    expect(found.verdict).toBe('safe');
    expect(found.moves).toEqual([
      { name: 'vehicle.limits.voltage_V', before: 400, after: 398, by: '-2 V (-0.5 %)' },
      { name: 'vehicle.limits.current_A', before: 180, after: 190, by: '+10 A (+5.56 %)' },
    ]);
  });

  it('is inconclusive where no connector is named, unsafe where something is passed', async () => {
    const bare = await read('vehicle: { limits: { voltage_V: 400, current_A: 180 } }');
    expect(compareParameters(bare, bare).verdict).toBe('inconclusive');
    const wide = await read(`${LIMITS.replace('180 }', '180 }, closesWithin_V: 30')}`);
    expect(compareParameters(await read(LIMITS), wide).reasons).toEqual([
      'closing gate: the vehicle closes within 30 V; 20 V may be; nothing in these parameters stops it',
    ]);
  });

  it('is equivalent where nothing moved', async () => {
    expect(compareParameters(await read(LIMITS), await read(LIMITS)).verdict).toBe('equivalent');
  });
});

it.each([
  [
    'vehicle: { limits: { curent_A: 1 } }',
    'p.yaml, line 3: vehicle.limits: there is no curent_A (use one of voltage_V, current_A, power_W)',
  ],
  ['connector: {}', 'p.yaml, line 3: connector: rated_A is missing (add it)'],
  [
    'vehicle:\n  limits:\n    current_A: -5',
    'p.yaml, line 5: vehicle.limits.current_A must be > 0, it is -5 (Amperes.)',
  ],
])('%j is told with its line', async (text, told) => {
  await expect(read(text)).rejects.toThrow(told);
});
