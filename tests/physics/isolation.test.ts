// Worked examples computed by hand from the formulas of UN R100 (component isolation annex, third and fourth step) and
// FMVSS 305, with every intermediate value written out; the method's circuit is solved anew in the properties.
import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  bridgeResistances_ohm,
  fmvssResistance_ohm,
  loadedPole,
  ohmPerVolt,
  parallel_ohm,
  poleReading_V,
  settling_s,
  twoReadingResistance_ohm,
} from '../../src/physics/isolation.ts';
import { expectClose } from './close.ts';

describe('400 V, 100 kΩ on the positive and 300 kΩ on the negative rail, 200 kΩ known (500 Ω/V)', () => {
  const [pack_V, plus_ohm, minus_ohm, known_ohm] = [400, 100e3, 300e3, 200e3];
  const readings = { pack_V, known_ohm, negative_V: 300, positive_V: 100, loaded_V: 2400 / 11 };

  test('the readings', () => {
    expectClose(poleReading_V(pack_V, minus_ohm, plus_ohm), 300);
    expectClose(poleReading_V(pack_V, plus_ohm, minus_ohm), 100);
    expect(loadedPole(300, 100)).toBe('negative');
    expectClose(parallel_ohm(minus_ohm, known_ohm), 120e3);
    expectClose(poleReading_V(pack_V, 120e3, plus_ohm), 218.181818, 1e-8);
    expectClose(poleReading_V(pack_V, 120e3, plus_ohm), readings.loaded_V);
    expectClose(1 / readings.loaded_V - 1 / readings.negative_V, 0.00125);
  });

  test('the result, which is the positive rail alone: 250 Ω/V', () => {
    expectClose(twoReadingResistance_ohm(readings), 100e3);
    expectClose(fmvssResistance_ohm(readings), 100e3);
    expectClose(ohmPerVolt(twoReadingResistance_ohm(readings), pack_V), 250);
  });

  test('what a monitor reports: 75 kΩ, 187.5 Ω/V', () => {
    expectClose(parallel_ohm(plus_ohm, minus_ohm), 75e3);
    expectClose(ohmPerVolt(parallel_ohm(plus_ohm, minus_ohm), pack_V), 187.5);
  });

  test('a meter of 10 MΩ shifts the readings and cancels out of the result', () => {
    const loading_ohm = parallel_ohm(minus_ohm, 10e6);
    const negative_V = poleReading_V(pack_V, loading_ohm, plus_ohm);
    const loaded_V = poleReading_V(pack_V, parallel_ohm(loading_ohm, known_ohm), plus_ohm);
    expectClose(negative_V, 297.766749, 2e-9);
    expectClose(loaded_V, 216.998192, 2e-9);
    expectClose(twoReadingResistance_ohm({ ...readings, negative_V, loaded_V }), 100e3);
  });

  test('readings rounded to 0.1 V stay within 1 %', () => {
    expectClose(twoReadingResistance_ohm({ ...readings, loaded_V: 218.2 }), 100e3, 0.01);
  });
});

describe('800 V, 400 kΩ on the positive and 60 kΩ on the negative rail, 80 kΩ known (100 Ω/V)', () => {
  const [pack_V, plus_ohm, minus_ohm, known_ohm] = [800, 400e3, 60e3, 80e3];
  const negative_V = poleReading_V(pack_V, minus_ohm, plus_ohm);
  const positive_V = poleReading_V(pack_V, plus_ohm, minus_ohm);
  const loaded_V = poleReading_V(pack_V, parallel_ohm(plus_ohm, known_ohm), minus_ohm);

  test('the readings take the other branch', () => {
    expectClose(negative_V, 104.347826, 2e-9);
    expectClose(positive_V, 695.652174, 2e-9);
    expect(loadedPole(negative_V, positive_V)).toBe('positive');
    expectClose(parallel_ohm(plus_ohm, known_ohm), 66_666.666667);
    expectClose(loaded_V, 421.052632, 2e-9);
  });

  test('the result, which is the negative rail alone: 75 Ω/V', () => {
    const readings = { pack_V, negative_V, positive_V, loaded_V, known_ohm };
    expectClose(twoReadingResistance_ohm(readings), 60e3);
    expectClose(fmvssResistance_ohm(readings), 60e3);
    expectClose(ohmPerVolt(twoReadingResistance_ohm(readings), pack_V), 75);
  });

  test('what a monitor reports: 52.174 kΩ, 65.217 Ω/V', () => {
    expectClose(parallel_ohm(plus_ohm, minus_ohm), 52_173.913043);
    expectClose(ohmPerVolt(parallel_ohm(plus_ohm, minus_ohm), pack_V), 65.217391, 1e-8);
  });
});

const ohms = fc.double({ min: 1e3, max: 1e8, noNaN: true });
const volts = fc.double({ min: 60, max: 1500, noNaN: true });

describe('for any rails', () => {
  test('two readings find the weaker rail, whatever the known resistor', () => {
    fc.assert(
      fc.property(ohms, ohms, ohms, volts, (plus_ohm, minus_ohm, known_ohm, pack_V) => {
        const negative_V = poleReading_V(pack_V, minus_ohm, plus_ohm);
        const positive_V = poleReading_V(pack_V, plus_ohm, minus_ohm);
        const [near_ohm, far_ohm] =
          loadedPole(negative_V, positive_V) === 'negative'
            ? [minus_ohm, plus_ohm]
            : [plus_ohm, minus_ohm];
        const loaded_V = poleReading_V(pack_V, parallel_ohm(near_ohm, known_ohm), far_ohm);
        const readings = { pack_V, negative_V, positive_V, loaded_V, known_ohm };
        const weaker_ohm = Math.min(plus_ohm, minus_ohm);
        // The difference of two near readings loses up to known/weaker of the digits.
        expectClose(twoReadingResistance_ohm(readings), weaker_ohm, 1e-9);
        expectClose(fmvssResistance_ohm(readings), weaker_ohm, 1e-9);
        expect(parallel_ohm(plus_ohm, minus_ohm)).toBeLessThan(weaker_ohm);
      }),
    );
  });

  test('a bridge finds both rails, by node equations solved for the readings', () => {
    fc.assert(
      fc.property(ohms, ohms, ohms, volts, (positive_ohm, negative_ohm, known_ohm, pack_V) => {
        // Kirchhoff at earth: (V − v)·(G+ + gp) = v·(G− + gn), for v = negative pole to earth.
        const reading = (onPlus_S: number, onMinus_S: number): number => {
          const plus_S = 1 / positive_ohm + onPlus_S;
          return (pack_V * plus_S) / (plus_S + 1 / negative_ohm + onMinus_S);
        };
        const found = bridgeResistances_ohm({
          pack_V,
          knownOnPositive_V: reading(1 / known_ohm, 0),
          knownOnNegative_V: reading(0, 1 / known_ohm),
          known_ohm,
        });
        expectClose(found.positive_ohm, positive_ohm, 1e-7);
        expectClose(found.negative_ohm, negative_ohm, 1e-7);
      }),
    );
  });
});

describe('the two-resistor bridge by hand', () => {
  test('400 V, 100 kΩ and 300 kΩ, 200 kΩ switched: reads 327.273 V and 218.182 V', () => {
    // 200 kΩ beside 100 kΩ is 66.667 kΩ: 400·300/366.667; beside 300 kΩ it is 120 kΩ: 400·120/220.
    const knownOnPositive_V = 3600 / 11;
    const knownOnNegative_V = 2400 / 11;
    const found = bridgeResistances_ohm({
      pack_V: 400,
      knownOnPositive_V,
      knownOnNegative_V,
      known_ohm: 200e3,
    });
    expectClose(found.positive_ohm, 100e3);
    expectClose(found.negative_ohm, 300e3);
    expectClose(parallel_ohm(found.positive_ohm, found.negative_ohm), 75e3);
  });

  test('settles in five time constants of all resistances and both Y-capacitances', () => {
    // 100, 300 and 200 kΩ in parallel are 54.545 kΩ; with 1 µF in all, τ is 54.545 ms.
    expectClose(settling_s([100e3, 300e3, 200e3], 1e-6), 0.3 / 1.1);
  });
});

describe('readings that cannot be', () => {
  const readings = { pack_V: 400, negative_V: 300, positive_V: 100, loaded_V: 200, known_ohm: 2e5 };

  test.each([
    ['a dead reading', { loaded_V: 0 }, 'loaded_V must be above 0, it is 0'],
    ['a reading that rose under load', { loaded_V: 301 }, 'is above the unloaded reading 300'],
    ['no known resistor', { known_ohm: Number.NaN }, 'known_ohm must be above 0, it is NaN'],
  ])('%s', (_what, change, message) => {
    expect(() => twoReadingResistance_ohm({ ...readings, ...change })).toThrow(RangeError);
    expect(() => twoReadingResistance_ohm({ ...readings, ...change })).toThrow(message);
    expect(() => fmvssResistance_ohm({ ...readings, ...change })).toThrow(message);
  });

  test('a bridge that did not move', () => {
    const still = { pack_V: 400, knownOnPositive_V: 200, knownOnNegative_V: 200, known_ohm: 2e5 };
    expect(() => bridgeResistances_ohm(still)).toThrow('the swing of the readings must be above 0');
  });
});
