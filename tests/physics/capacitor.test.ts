// Pre-charge, discharge and inrush: the worked numbers of public calculators, design guides and contactor datasheets, and
// the network solver against those closed forms and against Runge and Kutta.
import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  currentChargeTime_s,
  dischargeResistance_ohm,
  dischargeTime_s,
  energyAbove_J,
  largestCapacitance_F,
  largestPreChargeResistance_ohm,
  preCharged_V,
  preChargeResistorEnergy_J,
  preChargeTime_s,
  storedEnergy_J,
  timeConstants,
} from '../../src/physics/capacitor.ts';
import {
  inrushPeak,
  jouleIntegral_A2s,
  joiningEnergy_J,
  seriesCapacitance_F,
  sharedVoltage_V,
} from '../../src/physics/inrush.ts';
import { RcPair } from '../../src/physics/rc-pair.ts';
import { expectClose } from './close.ts';

describe('pre-charge through a resistor', () => {
  // W1: a resistor maker's calculator (confirmed); W2b, W4: derived; W3: a teaching page (inputs and 8 A confirmed).
  test.each([
    ['W1', 800, 47, 1e-3, { tau: 0.047, peak_A: 17.0, peak_W: 13_617, energy_J: 320 }],
    ['W2b', 800, 50, 2e-3, { tau: 0.1, peak_A: 16, peak_W: 12_800, energy_J: 640 }],
    ['W3', 400, 50, 3e-3, { tau: 0.15, peak_A: 8, peak_W: 3200, energy_J: 240 }],
    ['W4', 400, 100, 500e-6, { tau: 0.05, peak_A: 4, peak_W: 1600, energy_J: 40 }],
  ])(
    '%s: peak and energy, from the closed form and from the network',
    (_w, volts, ohm, farad, expected) => {
      const steps = 5000;
      const dt_s = (10 * expected.tau) / steps;
      // A battery behind the resistor is a current into the same node.
      const pair = new RcPair(farad, 1);
      let heat_J = 0;
      let first_A = 0;
      for (let step = 0; step < steps; step += 1) {
        pair.prepare(dt_s, 1 / ohm, 0, 0);
        const before_V = pair.voltage_V[0]!;
        pair.step(volts / ohm, 0);
        const [from_A, to_A] = [(volts - before_V) / ohm, (volts - pair.voltage_V[0]!) / ohm];
        if (step === 0) first_A = from_A;
        // Simpson's rule; the middle of an exponential is the root of the product of its ends.
        heat_J += (dt_s * ohm * (from_A ** 2 + 4 * from_A * to_A + to_A ** 2)) / 6;
      }
      expectClose(first_A, expected.peak_A, 2e-3);
      expectClose(first_A * volts, expected.peak_W, 1e-4);
      expectClose(heat_J, expected.energy_J, 1e-6);
      expectClose(storedEnergy_J(farad, volts), expected.energy_J);
      expectClose(preChargeResistorEnergy_J(volts, ohm, farad, 10 * expected.tau), heat_J, 1e-6);
      expectClose(pair.voltage_V[0]!, preCharged_V(volts, ohm, farad, 10 * expected.tau), 1e-9);
    },
  );

  test('times: shares of the way and what is missing', () => {
    expectClose(47e-3 * timeConstants(0.95), 0.141, 2e-3);
    expectClose(47e-3 * timeConstants(0.99), 0.2164, 1e-3);
    expectClose(timeConstants(0.99326), 5, 1e-4);
    expectClose(preChargeTime_s(400, 0.05 * 400, 50, 3e-3), 0.4494, 1e-4);
    expectClose(preChargeTime_s(400, 10, 100, 500e-6), 0.1844, 1e-3);
    expectClose(preCharged_V(400, 100, 500e-6, 0.25), 397.3, 2e-5);
    expectClose(preCharged_V(800, 50, 2e-3, 0.5), 794.61, 1e-5);
  });

  test('800 V, 1000 µF, 50 Ω in full', () => {
    [505.696, 691.732, 760.17, 785.347, 794.61].forEach((volts, i) => {
      expect(preCharged_V(800, 50, 1e-3, 0.05 * (i + 1))).toBeCloseTo(volts, 3);
    });
    expect(800 - preCharged_V(800, 50, 1e-3, 0.25)).toBeCloseTo(5.39, 3);
    expectClose(preChargeTime_s(800, 20, 50, 1e-3), 0.184444, 1e-5);
    expectClose(preChargeTime_s(800, 40, 50, 1e-3), 0.149787, 1e-5);
    expect(preChargeResistorEnergy_J(800, 50, 1e-3, 0.25)).toBeCloseTo(319.985, 3);
    expectClose(preChargeResistorEnergy_J(800, 50, 1e-3, 0.25) / 0.25, 1280, 1e-3);
    expectClose(largestPreChargeResistance_ohm(800, 20, 1e-3, 0.5), 135.54, 1e-4);
    // 95 % of 800 V leaves 40 V: the gate of 20 V is the stricter one above 400 V.
    expect(preChargeTime_s(800, 20, 50, 1e-3)).toBeGreaterThan(0.05 * timeConstants(0.95));
  });
});

describe('pre-charge by a source of constant current', () => {
  test('2 A: 400 V on 50 µF in 10 ms, on 500 µF in 100 ms; 7 s reach 35 mF at 400 V, 14 mF at 1000 V', () => {
    expectClose(currentChargeTime_s(50e-6, 400, 2), 0.01);
    expectClose(currentChargeTime_s(500e-6, 400, 2), 0.1);
    expectClose(largestCapacitance_F(2, 7, 400), 0.035);
    expectClose(largestCapacitance_F(2, 7, 1000), 0.014);
  });

  test('the network agrees: nothing leaks, so it is a straight line at any step', () => {
    for (const steps of [1, 7, 1000]) {
      const pair = new RcPair(500e-6, 1);
      pair.prepare(0.1 / steps, 0, 0, 0);
      for (let step = 0; step < steps; step += 1) pair.step(2, 0);
      expectClose(pair.voltage_V[0]!, 400);
    }
  });
});

describe('discharge', () => {
  test('470 µF from 400 V to 50 V: 97.73 s through 100 kΩ, 61.39 kΩ for 60 s, 37.6 J', () => {
    expectClose(dischargeTime_s(100e3, 470e-6, 400, 50), 97.73, 1e-4);
    expectClose(dischargeResistance_ohm(60, 470e-6, 400, 50), 61.39e3, 1e-4);
    expectClose(storedEnergy_J(470e-6, 400), 37.6);
    expectClose(400 ** 2 / 100e3, 1.6);
  });

  test.each([
    [500, 1e-3, 471.6],
    [500, 100e-6, 4716],
    [1000, 100e-6, 3554],
    [500, 20e-6, 23_580],
  ])('to 60 V within 1 s: from %d V on %d F', (from_V, farad, ohm) => {
    expectClose(dischargeResistance_ohm(1, farad, from_V, 60), ohm, 2e-4);
    const pair = new RcPair(farad, 1e-6);
    pair.voltage_V[0] = from_V;
    pair.prepare(1, 1 / dischargeResistance_ohm(1, farad, from_V, 60), 0, 0);
    pair.step(0, 0);
    expectClose(pair.voltage_V[0], 60);
  });

  test('500 µF, 750 V, 1 kΩ: 1.263 s, 562.5 W, 139.7 J', () => {
    expectClose(dischargeTime_s(1000, 500e-6, 750, 60), 1.263, 5e-4);
    expectClose(750 ** 2 / 1000, 562.5);
    expectClose(energyAbove_J(500e-6, 750, 60), 139.7, 5e-4);
  });

  test('energies that may be touched: 0.2 J', () => {
    expectClose(storedEnergy_J(100e-6, 60), 0.18);
    expectClose(storedEnergy_J(111.1e-6, 60), 0.2, 1e-3);
    for (const [volts, micro] of [
      [400, 2.5],
      [500, 1.6],
      [800, 0.625],
      [1000, 0.4],
    ] as const) {
      expectClose(storedEnergy_J(micro * 1e-6, volts), 0.2);
    }
    // UN R94, Annex 11 (from memory): what stands above 60 V counts.
    expectClose(energyAbove_J(0.5e-6, 500, 60), 0.0616, 1e-3);
    expectClose(energyAbove_J(2e-6, 500, 60), 0.2464, 1e-9);
  });
});

describe('inrush', () => {
  const loop = { capacitance_F: 1e-3 / 3, resistance_ohm: 0.05, inductance_H: 5e-6 };

  test('two capacitors: 500 µF at 400 V and 1000 µF at 380 V', () => {
    expectClose(seriesCapacitance_F(500e-6, 1000e-6), 333.333e-6, 1e-5);
    expect(seriesCapacitance_F(500e-6, Infinity)).toBe(500e-6);
    expectClose(sharedVoltage_V(500e-6, 400, 1000e-6, 380), 386.6667, 1e-6);
    expectClose(joiningEnergy_J(loop.capacitance_F, 20), 0.066667, 1e-5);
    expectClose(jouleIntegral_A2s(20, loop), 1.3333, 1e-4);
  });

  test.each([
    ['500 µF, 20 mΩ, 400 V', 400, 20e3, 2000, 40],
    ['500 µF, 20 mΩ, 10 V', 10, 500, 1.25, 0.025],
  ])('%s', (_what, difference_V, peak_A, i2t_A2s, energy_J) => {
    const bound = { capacitance_F: 500e-6, resistance_ohm: 0.02, inductance_H: 0 };
    expectClose(inrushPeak(difference_V, bound).peak_A, peak_A);
    expectClose(jouleIntegral_A2s(difference_V, bound), i2t_A2s);
    expectClose(joiningEnergy_J(500e-6, difference_V), energy_J);
  });

  test.each([
    [0.02, 1000],
    [0.05, 400],
    [0.1, 200],
  ])('20 V through %d Ω alone: %d A', (resistance_ohm, peak_A) => {
    expectClose(inrushPeak(20, { ...loop, resistance_ohm, inductance_H: 0 }).peak_A, peak_A);
  });

  test('with inductance: 122.844 A at 56.934 µs; a battery on one side 142.306 A at 68.067 µs; 400 V 2846.1 A', () => {
    const both = inrushPeak(20, loop);
    expectClose(both.peak_A, 122.844, 1e-5);
    expectClose(both.at_s, 56.934e-6, 1e-5);
    const battery = inrushPeak(20, { ...loop, capacitance_F: 500e-6 });
    expectClose(battery.peak_A, 142.306, 1e-5);
    expectClose(battery.at_s, 68.067e-6, 1e-5);
    expectClose(inrushPeak(400, { ...loop, capacitance_F: 500e-6 }).peak_A, 2846.1, 1e-4);
  });

  test('peak and I²t by Runge and Kutta, at any damping', () => {
    fc.assert(
      fc.property(anyScale(0.05, 20), anyScale(0.1, 10), (damping, scale) => {
        const [capacitance_F, inductance_H] = [1e-4 * scale, 1e-5 / scale];
        const resistance_ohm = 2 * damping * Math.sqrt(inductance_H / capacitance_F);
        const given = { capacitance_F, resistance_ohm, inductance_H };
        const found = simulate(100, given);
        expectClose(inrushPeak(100, given).peak_A, found.peak_A, 1e-4);
        expectClose(jouleIntegral_A2s(100, given), found.i2t_A2s, 1e-3);
      }),
      { numRuns: 30 },
    );
    // Exactly critical.
    expectClose(
      inrushPeak(1, { capacitance_F: 1, resistance_ohm: 2, inductance_H: 1 }).peak_A,
      Math.exp(-1),
    );
  });
});

/** The loop by Runge and Kutta: state (current, what of the difference is left). */
function simulate(
  difference_V: number,
  { capacitance_F, resistance_ohm, inductance_H }: Parameters<typeof inrushPeak>[1],
): { peak_A: number; i2t_A2s: number } {
  const slowest_s = Math.max(resistance_ohm * capacitance_F, (2 * inductance_H) / resistance_ohm);
  const fastest_s = Math.min(
    inductance_H / resistance_ohm,
    Math.sqrt(inductance_H * capacitance_F),
  );
  const h = fastest_s / 50;
  const di = (i: number, v: number): number => (v - resistance_ohm * i) / inductance_H;
  const dv = (i: number): number => -i / capacitance_F;
  let [i, v, peak_A, i2t_A2s] = [0, difference_V, 0, 0];
  for (let t = 0; t < 12 * slowest_s; t += h) {
    const [a, p] = [di(i, v), dv(i)];
    const [b, q] = [di(i + (h / 2) * a, v + (h / 2) * p), dv(i + (h / 2) * a)];
    const [c, r] = [di(i + (h / 2) * b, v + (h / 2) * q), dv(i + (h / 2) * b)];
    const [d, s] = [di(i + h * c, v + h * r), dv(i + h * c)];
    const next_A = i + (h / 6) * (a + 2 * b + 2 * c + d);
    i2t_A2s += (h / 3) * (i * i + i * next_A + next_A * next_A);
    v += (h / 6) * (p + 2 * q + 2 * r + s);
    i = next_A;
    peak_A = Math.max(peak_A, i);
  }
  return { peak_A, i2t_A2s };
}

describe('the network of two capacitors', () => {
  const conductance = fc.oneof(
    fc.constant(0),
    fc.double({ min: -7, max: 2, noNaN: true }).map((power) => 10 ** power),
  );
  const farads = fc.double({ min: -6, max: -2, noNaN: true }).map((power) => 10 ** power);
  const volts = fc.double({ min: 0, max: 1000, noNaN: true });
  const amps = fc.double({ min: -50, max: 500, noNaN: true });
  const network = fc.record({
    first_F: farads,
    second_F: farads,
    leak0_S: conductance,
    link_S: conductance,
    leak1_S: conductance,
    v0: volts,
    v1: volts,
    i0: amps,
    i1: amps,
  });

  test('the charge fed is stored or has leaked, at any step and stiffness', () => {
    fc.assert(
      fc.property(network, fc.double({ min: -5, max: 1, noNaN: true }), (given, power) => {
        const dt_s = 10 ** power;
        const pair = new RcPair(given.first_F, given.second_F);
        pair.voltage_V.set([given.v0, given.v1]);
        pair.prepare(dt_s, given.leak0_S, given.link_S, given.leak1_S);
        const predicted_V = pair.rest_V(given.i1) + pair.gain_ohm * given.i0;
        pair.step(given.i0, given.i1);
        const [v0, v1] = pair.voltage_V as unknown as [number, number];
        const [mean0, mean1] = pair.mean_V as unknown as [number, number];
        const stored_C = given.first_F * (v0 - given.v0) + given.second_F * (v1 - given.v1);
        const leaked_C = (given.leak0_S * mean0 + given.leak1_S * mean1) * dt_s;
        const fed_C = (given.i0 + given.i1) * dt_s;
        const gross_C =
          (Math.abs(given.i0) + Math.abs(given.i1)) * dt_s +
          given.first_F * (given.v0 + Math.abs(v0)) +
          given.second_F * (given.v1 + Math.abs(v1)) +
          Math.abs(leaked_C) +
          // Both nodes hang together by the link: its digits are what a sum can keep.
          given.link_S * dt_s * (Math.abs(mean0) + Math.abs(mean1)) * 1e-6;
        expect(Math.abs(fed_C - stored_C - leaked_C)).toBeLessThanOrEqual(1e-9 * gross_C + 1e-15);
        // The flow through the link closes the book of the first node alone.
        const linked_C = given.link_S * (mean0 - mean1) * dt_s;
        const alone_C = given.i0 * dt_s - given.leak0_S * mean0 * dt_s - linked_C;
        const noise_C =
          1e-15 +
          1e-9 * gross_C +
          1e-11 * given.link_S * dt_s * (Math.abs(mean0) + Math.abs(mean1));
        expect(Math.abs(alone_C - given.first_F * (v0 - given.v0))).toBeLessThanOrEqual(noise_C);
        expectNear(predicted_V, v0);
      }),
      { numRuns: 2000 },
    );
  });

  test('one step is as good as a thousand, and as Runge and Kutta', () => {
    const [first_F, second_F, leak0_S, link_S, leak1_S, i0, i1] = [
      1e-4, 2e-5, 1e-3, 0.4, 0.02, 3, 7,
    ];
    const whole = new RcPair(first_F, second_F);
    const parts = new RcPair(first_F, second_F);
    whole.voltage_V.set([380, 20]);
    parts.voltage_V.set([380, 20]);
    whole.prepare(1e-3, leak0_S, link_S, leak1_S);
    parts.prepare(1e-6, leak0_S, link_S, leak1_S);
    whole.step(i0, i1);
    let mean0 = 0;
    for (let k = 0; k < 1000; k += 1) {
      parts.step(i0, i1);
      mean0 += parts.mean_V[0]! / 1000;
    }
    let [v0, v1] = [380, 20];
    const h = 1e-7;
    const rate0 = (a: number, b: number): number => (i0 - leak0_S * a - link_S * (a - b)) / first_F;
    const rate1 = (a: number, b: number): number =>
      (i1 - leak1_S * b - link_S * (b - a)) / second_F;
    for (let k = 0; k < 10_000; k += 1) {
      const [a0, a1] = [rate0(v0, v1), rate1(v0, v1)];
      const [b0, b1] = [v0 + (h / 2) * a0, v1 + (h / 2) * a1];
      const [c0, c1] = [rate0(b0, b1), rate1(b0, b1)];
      v0 += h * c0;
      v1 += h * c1;
    }
    expectClose(parts.voltage_V[0]!, whole.voltage_V[0]!, 1e-11);
    expectClose(parts.voltage_V[1]!, whole.voltage_V[1]!, 1e-11);
    expectClose(mean0, whole.mean_V[0]!, 1e-11);
    expectClose(v0, whole.voltage_V[0]!, 1e-6);
    expectClose(v1, whole.voltage_V[1]!, 1e-6);
  });
});

function expectNear(value: number, expected: number): void {
  expect(Math.abs(value - expected)).toBeLessThanOrEqual(1e-9 * Math.max(1, Math.abs(expected)));
}

function anyScale(min: number, max: number): fc.Arbitrary<number> {
  return fc.double({ min: Math.log(min), max: Math.log(max), noNaN: true }).map(Math.exp);
}
