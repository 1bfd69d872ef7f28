// The rails' way to earth in time: the worked examples of the two-reading method as a voltmeter would meet them, and a
// monitor that has to wait for the Y-capacitors.
import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { loadedPole, ohmPerVolt, twoReadingResistance_ohm } from '../../src/physics/isolation.ts';
import { IsolationMonitor } from '../../src/physics/isolation-monitor.ts';
import { IsolationPath } from '../../src/physics/isolation-path.ts';
import { expectClose } from './close.ts';

const Y = { yPositive_F: 0.5e-6, yNegative_F: 0.5e-6 };

/** Reads as UN R100's annex says: each pole, then the one further from earth with the known resistor beside it. */
function twoReadings(path: IsolationPath, pack_V: number, known_ohm: number): number {
  path.step(10, pack_V);
  const { negative_V, positive_V } = path;
  if (loadedPole(negative_V, positive_V) === 'negative') path.knownOnNegative_S = 1 / known_ohm;
  else path.knownOnPositive_S = 1 / known_ohm;
  path.step(10, pack_V);
  const loaded_V = path.knownOnNegative_S > 0 ? path.negative_V : path.positive_V;
  return twoReadingResistance_ohm({ pack_V, negative_V, positive_V, loaded_V, known_ohm });
}

describe('two readings', () => {
  test('400 V, 100 kΩ and 300 kΩ: finds 100 kΩ, 250 Ω/V', () => {
    const path = new IsolationPath({ positive_ohm: 100e3, negative_ohm: 300e3, ...Y });
    expectClose(twoReadings(path, 400, 200e3), 100e3);
    expectClose(ohmPerVolt(100e3, 400), 250);
    expectClose(path.parallel_ohm, 75e3);
  });

  test('800 V, 400 kΩ and 60 kΩ: finds 60 kΩ, 75 Ω/V', () => {
    const path = new IsolationPath({ positive_ohm: 400e3, negative_ohm: 60e3, ...Y });
    expectClose(twoReadings(path, 800, 80e3), 60e3);
    expectClose(path.parallel_ohm, 52_173.913043);
  });

  test('limits in ohms per volt: 400, 500 and 750 V; both fault paths; classes of 750 V', () => {
    for (const [volts, d_c, a_c] of [
      [400, 40e3, 200e3],
      [500, 50e3, 250e3],
      [750, 75e3, 375e3],
    ] as const) {
      expect(ohmPerVolt(d_c, volts)).toBe(100);
      expect(ohmPerVolt(a_c, volts)).toBe(500);
    }
    const both = new IsolationPath({ positive_ohm: 80e3, negative_ohm: 60e3, ...Y });
    expect(both.parallel_ohm / 1000).toBeCloseTo(34.29, 2);
    expect(ohmPerVolt(60e3, 750)).toBe(80);
    expect(ohmPerVolt(150e3, 750)).toBe(200);
    expect(Math.round(ohmPerVolt(400e3, 750))).toBe(533);
  });
});

describe('the Y-capacitors', () => {
  test('delay a reading with the resistances in parallel and the capacitances together', () => {
    const path = new IsolationPath({ positive_ohm: 100e3, negative_ohm: 300e3, ...Y });
    path.step(10, 400);
    path.knownOnNegative_S = 1 / 200e3;
    const [from_V, to_V] = [300, 2400 / 11];
    // 100, 300 and 200 kΩ in parallel are 54.545 kΩ; with 1 µF together the time constant is 54.545 ms.
    path.step(0.6 / 11, 400);
    expectClose(path.negative_V, to_V + (from_V - to_V) * Math.exp(-1), 1e-12);
    path.step((4 * 0.6) / 11, 400);
    expectClose((path.negative_V - to_V) / (from_V - to_V), 1 - 0.99326, 1e-3);
  });

  test('divide a sudden voltage, before the resistances do', () => {
    const path = new IsolationPath({
      positive_ohm: 1e6,
      negative_ohm: 1e6,
      yPositive_F: 0.1e-6,
      yNegative_F: 0.3e-6,
    });
    path.step(1e-9, 400);
    expectClose(path.negative_V, 100, 1e-6);
    path.step(100, 400);
    expectClose(path.negative_V, 200);
  });

  test('hold 0.2 J at 500 V and 1.6 µF, and the rails always make up their voltage', () => {
    const lone = new IsolationPath({
      positive_ohm: 1e9,
      negative_ohm: 1,
      yPositive_F: 1.6e-6,
      yNegative_F: 0,
    });
    lone.step(10, 500);
    expectClose(lone.yEnergy_J, 0.2, 1e-6);
    const without = new IsolationPath({
      positive_ohm: 2e5,
      negative_ohm: Infinity,
      yPositive_F: 0,
      yNegative_F: 0,
    });
    without.step(1e-3, 300);
    expect(without.negative_V).toBe(300);
    expect(without.positive_V).toBe(0);
  });
});

describe('the monitor', () => {
  const ohms = fc.double({ min: 10e3, max: 20e6, noNaN: true });

  test('finds both rails in parallel, to what five time constants leave', () => {
    fc.assert(
      fc.property(
        ohms,
        ohms,
        fc.double({ min: 150, max: 1000, noNaN: true }),
        (plus, minus, rails_V) => {
          const path = new IsolationPath({
            positive_ohm: plus,
            negative_ohm: minus,
            yPositive_F: 0.5e-6,
            yNegative_F: 0.5e-6,
          });
          // Made for 2 µF and given 1 µF: ten time constants at the least, so 1e-4 of the swing stays; the result divides
          // by what the rails leave of it.
          const error = 1e-4 * (1 + path.parallel_ohm / 200e3);
          expectClose(measured(path, rails_V, 0.01, 10)!, path.parallel_ohm, 5 * error);
        },
      ),
      { numRuns: 60 },
    );
  });

  test('the two worked examples: 75 kΩ is a warning of 187.5 Ω/V, 52.17 kΩ a fault of 65.2 Ω/V', () => {
    const weak = new IsolationPath({ positive_ohm: 100e3, negative_ohm: 300e3, ...Y });
    expectClose(measured(weak, 400, 0.001, 10)!, 75e3, 1e-3);
    const bad = new IsolationPath({ positive_ohm: 400e3, negative_ohm: 60e3, ...Y });
    expectClose(measured(bad, 800, 0.001, 10)!, 52_173.9, 1e-3);
  });

  test('errs when the circuit has more Y-capacitance than it waits for', () => {
    const slow = { yPositive_F: 20e-6, yNegative_F: 20e-6 };
    const path = new IsolationPath({ positive_ohm: 1e6, negative_ohm: 1e6, ...slow });
    const found_ohm = measured(path, 400, 0.01, 20)!;
    expect(Math.abs(found_ohm / path.parallel_ohm - 1)).toBeGreaterThan(0.5);
  });

  test('without voltage there is no result; a restart forgets the last', () => {
    const path = new IsolationPath({ positive_ohm: 1e6, negative_ohm: 1e6, ...Y });
    expect(measured(path, 0, 0.01, 20)).toBeNull();
    const monitor = new IsolationMonitor(path, { known_ohm: 200e3, largestY_F: 2e-6 });
    for (let k = 0; k < 1000; k += 1) {
      path.step(0.01, 400);
      monitor.step(0.01, 400);
    }
    expect(monitor.resistance_ohm).not.toBeNull();
    monitor.restart();
    expect(monitor.resistance_ohm).toBeNull();
  });

  test('a rail that is earth', () => {
    const path = new IsolationPath({ positive_ohm: 1e-3, negative_ohm: 1e6, ...Y });
    expect(measured(path, 400, 0.01, 20)).toBeLessThan(1);
  });
});

function measured(
  path: IsolationPath,
  rails_V: number,
  dt_s: number,
  within_s: number,
): number | null {
  const monitor = new IsolationMonitor(path, { known_ohm: 200e3, largestY_F: 2e-6 });
  for (let t = 0; t < within_s && monitor.resistance_ohm === null; t += dt_s) {
    path.step(dt_s, rails_V);
    monitor.step(dt_s, rails_V);
  }
  return monitor.resistance_ohm;
}
