// Cable, contacts, sensors, limits by temperature and the lock, against the worked numbers of public standards' texts and
// datasheets (marks beside the figures in src/physics).
import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { NMC_60_AH } from '../../src/physics/cell.ts';
import {
  ADIABATIC_FACTOR,
  adiabaticArea_mm2,
  adiabaticLimit_A2s,
  copperResistance_ohm,
} from '../../src/physics/conductor.ts';
import {
  ContactHeat,
  currentFactor,
  deratingFactor,
  HIGHEST_CONTACT_C,
  loss_W,
  timeToReach_s,
} from '../../src/physics/contact-heat.ts';
import {
  chargeLimit,
  chargeRate_perHour,
  filling,
  LFP_FAST_CHARGE,
  LFP_STANDARD_CHARGE,
  NMC_FAST_CHARGE,
} from '../../src/physics/limits.ts';
import { CONTACTOR_400_A } from '../../src/physics/contactor.ts';
import { LockActuator } from '../../src/physics/lock.ts';
import { Pack } from '../../src/physics/pack.ts';
import { PackHeat } from '../../src/physics/pack-heat.ts';
import {
  ntc_C,
  ntc_ohm,
  pt1000_C,
  pt1000_ohm,
  TemperatureSensors,
} from '../../src/physics/sensors.ts';
import { expectClose } from './close.ts';

describe('cables', () => {
  test.each([
    ['2 × 5 m, 70 mm²', 10, 70, 20, 200, 2.5e-3, 0.5, 100],
    ['the same at 90 °C', 10, 70, 90, 200, 3.188e-3, 0.638, 127.5],
    ['2 × 5 m, 35 mm²', 10, 35, 20, 125, 5e-3, 0.625, 78.1],
    ['2 × 6 m, 95 mm²', 12, 95, 20, 250, 2.211e-3, 0.553, 138.2],
  ])('%s', (_what, length_m, area_mm2, temperature_C, current_A, ohm, drop_V, watts) => {
    const resistance_ohm = copperResistance_ohm(length_m, area_mm2, temperature_C);
    expectClose(resistance_ohm, ohm, 3e-4);
    expectClose(resistance_ohm * current_A, drop_V, 1e-3);
    expectClose(loss_W(resistance_ohm, current_A), watts, 1e-3);
  });

  test('short circuits: 70 mm² bears 1.002e8 A²s, 20 kA for 0.2505 s; 10 kA need 22.11, 31.27 or 38.89 mm²', () => {
    const { copperXlpe, copperPvc } = ADIABATIC_FACTOR;
    expectClose(adiabaticLimit_A2s(70, copperXlpe), 1.002001e8);
    expectClose(adiabaticLimit_A2s(70, copperXlpe) / 20e3 ** 2, 0.2505, 1e-4);
    expectClose(adiabaticArea_mm2(10e3 ** 2 * 0.1, copperXlpe), 22.11, 1e-3);
    expectClose(adiabaticArea_mm2(10e3 ** 2 * 0.2, copperXlpe), 31.27, 1e-3);
    expectClose(adiabaticArea_mm2(10e3 ** 2 * 0.2, copperPvc), 38.89, 1e-3);
  });
});

describe('contacts', () => {
  test('losses: two of 0.1 mΩ at 200 A, one of 0.2 mΩ at 250 A, a contactor of 0.30 mΩ', () => {
    expectClose(2 * loss_W(0.1e-3, 200), 8);
    expectClose(loss_W(0.2e-3, 250), 12.5);
    expectClose(CONTACTOR_400_A.resistance_ohm * 200, 0.06);
    expectClose(loss_W(0.3e-3, 200), 12);
    expectClose(loss_W(0.3e-3, 400), 48);
  });

  test('what may flow for good: 0.8367 at 55 °C (209.2 of 250 A), 0.9487 at 45 °C, nothing at 90 °C', () => {
    expectClose(currentFactor(55), 0.8367, 1e-4);
    expect(250 * currentFactor(55)).toBeCloseTo(209.2, 1);
    expectClose(currentFactor(45), 0.9487, 1e-4);
    expect(currentFactor(95)).toBe(0);
  });

  test('at 1.2 times the rated current 90 °C after 711.4 s; at the rated current 71.61 °C after 600 s', () => {
    expectClose(timeToReach_s(50, 1.44 * 50), 711.4, 1e-4);
    expect(timeToReach_s(50, 50)).toBe(Infinity);
    const over = new ContactHeat({ rated_A: 250, ambient_C: 40 });
    let elapsed_s = 0;
    for (; over.temperature_C < HIGHEST_CONTACT_C; elapsed_s += 0.1) over.step(0.1, 300);
    expectClose(elapsed_s, 711.4, 2e-4);
    // The same in one step.
    const rated = new ContactHeat({ rated_A: 250, ambient_C: 40 });
    rated.step(600, 250);
    expectClose(rated.temperature_C, 71.61, 1e-4);
    const worn = new ContactHeat({ rated_A: 250, ambient_C: 40 });
    worn.resistanceFactor = 2;
    worn.step(600, 250);
    expectClose(worn.rise_K, 2 * rated.rise_K);
  });

  test('derating from 85 °C to 90 °C', () => {
    expect([20, 85, 87.5, 90, 120].map((t) => deratingFactor(t))).toEqual([1, 1, 0.5, 0, 0]);
    expect(deratingFactor(85, 80, 90)).toBe(0.5);
  });
});

describe('temperature sensors', () => {
  // IEC 60751, A 3.9083e-3, B −5.775e-7; and its table for the cold: 0 °C 1000 Ω, −40 °C 842.7 Ω, −100 °C 602.6 Ω.
  test.each([
    [25, 1097.35],
    [60, 1232.42],
    [80, 1308.97],
    [85, 1328.03],
    [90, 1347.07],
    [105, 1404],
    [0, 1000],
    [-40, 842.71],
    [-100, 602.56],
  ])('Pt1000 at %d °C: %d Ω', (temperature_C, ohm) => {
    expect(Math.abs(pt1000_ohm(temperature_C) - ohm)).toBeLessThan(0.006);
    expect(pt1000_C(pt1000_ohm(temperature_C))).toBeCloseTo(temperature_C, 9);
  });

  test('NTC: 2980.9 Ω at 60 °C, 1271.8 Ω at 90 °C', () => {
    expectClose(ntc_ohm(25), 10_000);
    expectClose(ntc_ohm(60), 2980.9, 1e-4);
    expectClose(ntc_ohm(90), 1271.8, 1e-4);
  });

  test('each undoes its inverse', () => {
    fc.assert(
      fc.property(fc.double({ min: -150, max: 250, noNaN: true }), (t) => {
        expect(pt1000_C(pt1000_ohm(t))).toBeCloseTo(t, 8);
        expect(ntc_C(ntc_ohm(t))).toBeCloseTo(t, 8);
      }),
    );
  });

  test('lag behind what they sit on, and see only that', () => {
    const sensors = new TemperatureSensors([0, 2], 10, 20);
    sensors.step(10, Float64Array.of(30, 90, 20));
    expectClose(sensors.reading_C[0]!, 20 + 10 * (1 - Math.exp(-1)));
    expect(sensors.coldest_C).toBe(20);
    expect(sensors.hottest_C).toBeLessThan(30);
    expect(() => new TemperatureSensors([], 10, 20)).toThrow('no sensor');
  });
});

describe('limits by temperature', () => {
  test.each([
    [-1, 20, 0, 0],
    [2, 4, 0.1, 0],
    [7, 7, 0.1, 0.2],
    [15, 20, 0.2, 1],
    [30, 35, 0.5, 0.75],
    [20, 30, 0.2, 0.75],
    [55, 55, 0.1, 0.1],
    [20, 61, 0, 0],
  ])('LFP from %d to %d °C: %d C standard, %d C fast', (coldest_C, hottest_C, standard, fast) => {
    expect(chargeRate_perHour(LFP_STANDARD_CHARGE, coldest_C, hottest_C)).toBe(standard);
    expect(chargeRate_perHour(LFP_FAST_CHARGE, coldest_C, hottest_C)).toBe(fast);
  });

  test('without a table nothing is allowed; a sensor that reads nothing allows nothing', () => {
    expect(chargeRate_perHour([], 20, 20)).toBe(0);
    expect(chargeRate_perHour(NMC_FAST_CHARGE, Number.NaN, 20)).toBe(0);
    expect(chargeRate_perHour(NMC_FAST_CHARGE, 20, 45)).toBe(1.5);
  });

  test('filling and topping off are controlled differently: by current, then by voltage', () => {
    const pack = new Pack({ design: NMC_60_AH, cells: 8, stateOfCharge: 0.2, temperature_C: 20 });
    expect(filling(pack, NMC_FAST_CHARGE, 60)).toEqual({ current_A: 60, by: 'wish' });
    expect(filling(pack, NMC_FAST_CHARGE, 200)).toEqual({ current_A: 90, by: 'temperature' });
    const seen: string[] = [];
    for (let k = 0; k < 4000; k += 1) {
      const { current_A, by } = filling(pack, NMC_FAST_CHARGE, 60);
      if (seen.at(-1) !== by) seen.push(by);
      pack.step(1, current_A);
      expect(pack.highestCell_V).toBeLessThanOrEqual(4.2 + 1e-3);
    }
    expect(seen).toEqual(['wish', 'voltage']);
    expect(chargeLimit(pack, NMC_FAST_CHARGE).current_A).toBeLessThan(6);
  });

  test('42 kWh at 50 kW take 50.4 minutes', () => {
    // 10 to 80 % of 60 kWh, derived: a pack of 96 cells that holds as much, charged at constant power.
    const pack = new Pack({
      design: NMC_60_AH,
      cells: 96,
      stateOfCharge: 0,
      temperature_C: 25,
      cooling: { perCell_W_per_K: 1e9, flow_W_per_K: 1e12, inlet_C: 25 },
    });
    let elapsed_s = 0;
    const share = 42 / 3;
    while (pack.energyIn_J < (42e3 * 3600) / share) {
      pack.step(1, 50e3 / share / pack.voltage_V);
      elapsed_s += 1;
    }
    expectClose(elapsed_s / 60, 50.4, 2e-3);
  });
});

describe('heat of a pack', () => {
  test('a lone cell at constant power, in closed form, in one step or many', () => {
    const still = { perCell_W_per_K: 2, flow_W_per_K: 1e15, coolantHeatCapacity_J_per_K: 1e9 };
    const once = new PackHeat(1, 1000, 20, still);
    const often = new PackHeat(1, 1000, 20, still);
    once.step(600, Float64Array.of(600 * 30));
    for (let k = 0; k < 600; k += 1) often.step(1, Float64Array.of(30));
    const expected_C = 20 + 15 * (1 - Math.exp(-1.2));
    expectClose(once.temperature_C[0]!, expected_C, 1e-9);
    expectClose(often.temperature_C[0]!, expected_C, 1e-6);
  });

  test('a pump that stands still keeps everything', () => {
    const heat = new PackHeat(3, 900, 10, { flow_W_per_K: 0 });
    const before_J = heat.storedHeat_J;
    for (let k = 0; k < 5000; k += 1) heat.step(1, Float64Array.of(5, 10, 15));
    expectClose(heat.storedHeat_J - before_J, 150_000, 1e-9);
    expect(heat.carriedAway_J).toBe(0);
  });
});

test('the lock takes its time, tells where it is, and may jam', () => {
  const lock = new LockActuator(0.3);
  expect(lock.state).toBe('unlocked');
  lock.command('locked');
  for (let k = 0; k < 299; k += 1) lock.step(0.001);
  expect(lock.state).toBe('between');
  lock.step(0.001);
  expect(lock.state).toBe('locked');
  lock.command('unlocked');
  lock.step(0.1);
  lock.jammed = true;
  lock.step(10);
  expect(lock.state).toBe('between');
  expectClose(lock.position, 2 / 3, 1e-9);
});
