// A pack's cells against closed forms, against published runs of a single cell, and against its own books.
// Reference case: 5 Ah cell, its table and resistance from the Modelica Standard Library's Electrical.Batteries
// (Examples.CCCV_CellRC); switch times by the closed form OCV = 4.2 V − I·R, tails by another time stepping at 10 ms.
import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { balancingTime_s, PassiveBalancing } from '../../src/physics/balancing.ts';
import {
  DEMONSTRATION,
  LFP_202_AH,
  MODEL_LIBRARY_CELL,
  NMC_60_AH,
  overpotential_V,
  type CellDesign,
} from '../../src/physics/cell.ts';
import { arrayCellLimit_V, FULL_RATE_perHour } from '../../src/physics/limits.ts';
import { openCircuitVoltage_V, stateOfChargeAt } from '../../src/physics/open-circuit-voltage.ts';
import { Pack } from '../../src/physics/pack.ts';
import { RelaxedCurrent } from '../../src/physics/relaxed-current.ts';

const NONE = { resistance_ohm: 0, tau_s: 1 };

/** Held at 25 °C, where the resistances are given: what the closed forms assume. */
function alone(design: CellDesign, stateOfCharge: number, cells = 1): Pack {
  const cooling = { perCell_W_per_K: 1e9, flow_W_per_K: 1e12, inlet_C: 25 };
  return new Pack({ design, cells, stateOfCharge, temperature_C: 25, cooling });
}

interface Charged {
  switch_s: number;
  end_s: number;
  stateOfCharge: number;
  charge_Ah: number;
}

/** Constant current, then whatever holds the highest cell at the limit, down to a twentieth of the capacity. */
function charge(pack: Pack, current_A: number, dt_s: number, limit_V = 4.2): Charged {
  const least_A = (pack.design.capacity_C / 3600) * FULL_RATE_perHour;
  let switch_s = Number.NaN;
  for (let step = 0; ; step += 1) {
    const allowed_A = pack.highestChargeCurrent_A(limit_V);
    if (allowed_A < current_A && Number.isNaN(switch_s)) switch_s = step * dt_s;
    if (allowed_A < least_A) {
      const charge_Ah = pack.charge_C / 3600;
      return { switch_s, end_s: step * dt_s, stateOfCharge: pack.stateOfCharge, charge_Ah };
    }
    pack.step(dt_s, Math.min(current_A, allowed_A));
  }
}

describe('the step response of the demonstration set: +100 A at half charge', () => {
  /** The charge moves meanwhile; the published figures leave out what that does. */
  const level: CellDesign = { ...DEMONSTRATION, riseAtEnds: 0 };

  test.each([
    [10, 57.01],
    [30, 77.93],
    [60, 91.88],
    [150, 99.6],
  ])('after %d s %d mV above the open circuit', (elapsed_s, expected_mV) => {
    const pack = alone(level, 0.5);
    const steps = 100;
    for (let i = 0; i < steps; i += 1) pack.step(elapsed_s / steps, 100);
    const rested = alone(level, pack.stateOfCharges[0]!).voltage_V;
    expect((pack.voltage_V - rested) * 1000).toBeCloseTo(expected_mV, 2);
    expect(overpotential_V(level, 100, elapsed_s)).toBeCloseTo(pack.voltage_V - rested, 9);
  });

  test('at once 40.00 mV', () => {
    const pack = alone(DEMONSTRATION, 0.5);
    expect(pack.resistance_ohm * 100).toBeCloseTo(0.04, 9);
    expect(overpotential_V(level, 100, 0)).toBeCloseTo(0.04, 9);
    expect(overpotential_V(level, 100, Infinity)).toBeCloseTo(0.1, 9);
  });
});

test.each([
  [0.1, 0.9966722],
  [1, 0.9672161],
])('the exact update of a pair of 30 s over %d s keeps %d', (dt_s, kept) => {
  const pair = new RelaxedCurrent({ resistance_ohm: 1, tau_s: 30 });
  pair.current_A = 1;
  pair.step(dt_s, 0);
  expect(pair.current_A).toBeCloseTo(kept, 7);
  // By ∫e^(−t/τ) and its square.
  expect(pair.charge_C).toBeCloseTo(30 * (1 - Math.exp(-dt_s / 30)), 12);
  expect(pair.squared_A2s).toBeCloseTo(15 * (1 - Math.exp(-dt_s / 15)), 12);
});

describe('constant current, then constant voltage', () => {
  const ohmic: CellDesign = {
    ...MODEL_LIBRARY_CELL,
    series_ohm: 3.5e-3,
    first: NONE,
    second: NONE,
  };

  test.each([
    [25, 610.125],
    [10, 1582.5],
    [5, 3202.5],
    [2.5, 6442.5],
  ])('%d A into a 5 Ah cell at a tenth meets 4.2 V after %d s', (current_A, switch_s) => {
    for (const design of [ohmic, MODEL_LIBRARY_CELL]) {
      const found_s = charge(alone(design, 0.1), current_A, 0.125).switch_s;
      expect(Math.abs(found_s - switch_s)).toBeLessThanOrEqual(0.125);
    }
  });

  test('5 A, resistance only, down to 0.25 A: 3314.84 s, 4.49740 Ah, in closed form', () => {
    const { end_s, stateOfCharge, charge_Ah } = charge(alone(ohmic, 0.1), 5, 0.05);
    expect(end_s).toBeCloseTo(3314.84, 0);
    expect(stateOfCharge).toBeCloseTo(0.999479, 5);
    expect(charge_Ah).toBeCloseTo(4.4974, 4);
  });

  test.each([
    [5, 3332.6, 0.99905, 4.4952],
    [25, 851.3, 0.99899, 4.495],
    [10, 1758.5, 0.99901, 4.495],
  ])('%d A with both pairs: %d s', (current_A, expected_s, stateOfChargeEnd, expected_Ah) => {
    const done = charge(alone(MODEL_LIBRARY_CELL, 0.1), current_A, 0.05);
    expect(Math.abs(done.end_s - expected_s)).toBeLessThan(0.6);
    expect(done.stateOfCharge).toBeCloseTo(stateOfChargeEnd, 4);
    expect(done.charge_Ah).toBeCloseTo(expected_Ah, 3);
  });
});

describe('the weakest cell', () => {
  test('96 cells of 60 Ah, one of 57 Ah, at 20 %: it is full after 45.6 Ah, the others at 96.0 %', () => {
    const pack = alone(NMC_60_AH, 0.2, 96);
    pack.capacity_C[17] = 57 * 3600;
    pack.refresh();
    let elapsed_s = 0;
    for (; pack.stateOfCharges[17]! < 1 - 1e-9; elapsed_s += 1) pack.step(1, 60);
    expect(elapsed_s).toBe(2736);
    expect(pack.charge_C / 3600).toBeCloseTo(45.6, 9);
    expect(pack.stateOfCharges[0]).toBeCloseTo(0.96, 9);
  });

  test('a cell 3 % ahead keeps 1.8 Ah from the others', () => {
    const pack = alone(NMC_60_AH, 0.2, 96);
    pack.stateOfCharges[5] = 0.23;
    pack.refresh();
    while (pack.stateOfCharges[5]! < 1) pack.step(1, 60);
    expect((1 - pack.stateOfCharges[0]!) * 60).toBeCloseTo(1.8, 1);
  });

  test('95 cells at 4.19 V and one at 4.30 V sum below the limit of the pack, yet none may be charged', () => {
    const pack = alone(NMC_60_AH, stateOfChargeAt(NMC_60_AH.curve, 4.19), 96);
    pack.stateOfCharges[40] = stateOfChargeAt(NMC_60_AH.curve, 4.3);
    pack.refresh();
    expect(pack.voltage_V).toBeCloseTo(402.35, 6);
    expect(pack.voltage_V).toBeLessThan(96 * 4.2);
    expect(pack.highestCell_V).toBeCloseTo(4.3, 9);
    expect(pack.highestChargeCurrent_A(4.2)).toBe(0);
    expect(pack.highestDischargeCurrent_A(2.5)).toBeGreaterThan(0);
  });

  test('the emptiest cell ends the discharge', () => {
    const pack = alone(NMC_60_AH, 0.5, 96);
    pack.stateOfCharges[3] = -0.01;
    pack.refresh();
    expect(pack.voltage_V).toBeGreaterThan(96 * 3);
    expect(pack.highestDischargeCurrent_A(2.5)).toBe(0);
    expect(pack.highestChargeCurrent_A(4.2)).toBeGreaterThan(0);
  });
});

describe('a pack is run by its weakest cell', () => {
  // Common practice of the trade: where the best cell could be run at 3.3 V and the worst at 3.1 V, the array runs at 3.1 V.
  const limits_V = [3.3, 3.25, 3.1, 3.3];

  test('the limit of the array is that of the worst', () => {
    expect(arrayCellLimit_V(limits_V)).toBe(3.1);
  });

  test('charged so, no cell passes 3.1 V and the best stays where it is', () => {
    const pack = alone(LFP_202_AH, 0.02, limits_V.length);
    const limit_V = arrayCellLimit_V(limits_V);
    charge(pack, 50, 1, limit_V);
    expect(pack.highestCell_V).toBeLessThanOrEqual(limit_V + 1e-4);
    expect(pack.highestCell_V).toBeGreaterThan(limit_V - 1e-3);
  });
});

describe('the books', () => {
  const step = fc.record({
    dt_s: fc.double({ min: 1e-4, max: 20, noNaN: true }),
    current_A: fc.double({ min: -150, max: 150, noNaN: true }),
  });
  const design = fc.constantFrom(DEMONSTRATION, MODEL_LIBRARY_CELL, NMC_60_AH, LFP_202_AH);

  test('charge and energy close for any cells, currents and steps, balancing or not', () => {
    fc.assert(
      fc.property(
        design,
        fc.integer({ min: 1, max: 40 }),
        fc.boolean(),
        fc.array(step, { minLength: 1, maxLength: 60 }),
        fc.integer(),
        (cell, cells, balances, steps, seed) => {
          const balancing = balances ? new PassiveBalancing({ resistance_ohm: 10 }) : null;
          const pack = new Pack({
            design: cell,
            cells,
            stateOfCharge: 0.5,
            temperature_C: 10,
            spread: { capacity: 0.03, resistance: 0.1, stateOfCharge: 0.02 },
            random: pseudoRandom(seed),
            ...(balancing === null ? {} : { balancing }),
          });
          const before_J = pack.storedEnergy_J;
          const before = pack.stateOfCharges.slice();
          let charge_C = 0;
          let gross_J = 0;
          for (const { dt_s, current_A } of steps) {
            // Hours at 30C would leave every table.
            const small_A = current_A * (cell.capacity_C / 360_000);
            pack.step(dt_s, small_A);
            charge_C += dt_s * small_A;
            gross_J += Math.abs(dt_s * small_A * pack.voltage_V);
          }
          expect(pack.charge_C).toBeCloseTo(charge_C, 6);
          for (let k = 0; k < cells; k += 1) {
            const gained_C = (pack.stateOfCharges[k]! - before[k]!) * pack.capacity_C[k]!;
            const bled_C = balancing?.charge_C[k] ?? 0;
            expect(gained_C).toBeCloseTo(charge_C - bled_C, 5);
          }
          const out_J =
            pack.storedEnergy_J -
            before_J +
            pack.heat.made_J +
            pack.pendingHeat_J +
            pack.bleedHeat_J;
          // The voltage is a line within 1 % of charge; a step across a corner is off by the corner's height.
          expect(Math.abs(pack.energyIn_J - out_J)).toBeLessThan(2e-4 * gross_J + 1e-6);
        },
      ),
      { numRuns: 200 },
    );
  });

  test('the energy closes to eight digits at steps of a millisecond', () => {
    const pack = new Pack({
      design: NMC_60_AH,
      cells: 24,
      stateOfCharge: 0.4,
      temperature_C: 5,
      spread: { capacity: 0.02, resistance: 0.1, stateOfCharge: 0.03 },
      random: pseudoRandom(4),
      balancing: new PassiveBalancing({ resistance_ohm: 33 }),
    });
    const before_J = pack.storedEnergy_J;
    let trapezoids_J = 0;
    let last_V = pack.restVoltage_V + pack.resistance_ohm * 120;
    for (let k = 0; k < 60_000; k += 1) {
      pack.step(0.001, 120);
      trapezoids_J += (0.001 * 120 * (last_V + pack.voltage_V)) / 2;
      last_V = pack.voltage_V;
    }
    const out_J =
      pack.storedEnergy_J - before_J + pack.heat.made_J + pack.pendingHeat_J + pack.bleedHeat_J;
    expect(Math.abs(out_J / pack.energyIn_J - 1)).toBeLessThan(1e-8);
    expect(Math.abs(trapezoids_J / pack.energyIn_J - 1)).toBeLessThan(1e-6);
  });

  test('what the cells make warms them, warms the coolant or is carried away', () => {
    const pack = new Pack({
      design: NMC_60_AH,
      cells: 96,
      stateOfCharge: 0.1,
      temperature_C: 20,
      cooling: { inlet_C: 15 },
    });
    const before_J = pack.heat.storedHeat_J;
    for (let k = 0; k < 1800; k += 1) pack.step(1, 60);
    const { made_J, carriedAway_J, storedHeat_J } = pack.heat;
    expect(storedHeat_J - before_J + carriedAway_J).toBeCloseTo(made_J, 3);
    expect(pack.coldest_C).toBeGreaterThan(15);
  });

  test('any split of a step gives the same pack, within the slow tick', () => {
    const whole = alone(MODEL_LIBRARY_CELL, 0.3);
    const parts = alone(MODEL_LIBRARY_CELL, 0.3);
    whole.step(0.09, 7);
    for (let k = 0; k < 90; k += 1) parts.step(0.001, 7);
    expect(parts.voltage_V).toBeCloseTo(whole.voltage_V, 10);
    expect(parts.energyIn_J).toBeCloseTo(whole.energyIn_J, 8);
  });
});

test('a pack is what its cells are, stepped one by one, charging and discharging across many lines', () => {
  const steps = fc.array(
    fc.tuple(fc.double({ min: -300, max: 300, noNaN: true }), fc.integer({ min: 1, max: 80 })),
    {
      minLength: 1,
      maxLength: 20,
    },
  );
  fc.assert(
    fc.property(
      fc.constantFrom(NMC_60_AH, LFP_202_AH),
      fc.integer(),
      steps,
      (design, seed, currents) => {
        const cooling = { perCell_W_per_K: 1e9, flow_W_per_K: 1e12, inlet_C: 25 };
        const pack = new Pack({
          design,
          cells: 7,
          stateOfCharge: 0.5,
          temperature_C: 25,
          cooling,
          spread: { capacity: 0.05, resistance: 0.1, stateOfCharge: 0.2 },
          random: pseudoRandom(seed),
        });
        const cells = Array.from(pack.stateOfCharges, (stateOfCharge, i) => {
          const cell = alone(design, stateOfCharge);
          cell.capacity_C[0] = pack.capacity_C[i]!;
          cell.resistanceSpread[0] = pack.resistanceSpread[i]!;
          cell.refresh();
          return cell;
        });
        for (const [current_A, count] of currents) {
          for (let k = 0; k < count; k += 1) {
            pack.step(0.05, current_A);
            for (const cell of cells) cell.step(0.05, current_A);
          }
          const volts = cells.map(({ voltage_V }) => voltage_V);
          expect(pack.voltage_V).toBeCloseTo(
            volts.reduce((a, b) => a + b),
            9,
          );
          expect(pack.highestCell_V).toBeCloseTo(Math.max(...volts), 9);
          expect(pack.lowestCell_V).toBeCloseTo(Math.min(...volts), 9);
          const allowed_A = cells.map((cell) => cell.highestChargeCurrent_A(design.highest_V));
          expect(pack.highestChargeCurrent_A(design.highest_V)).toBeCloseTo(
            Math.min(...allowed_A),
            6,
          );
          expect(pack.restVoltage_V + pack.resistance_ohm * current_A).toBeCloseTo(
            pack.voltage_V,
            9,
          );
        }
      },
    ),
    { numRuns: 40 },
  );
});

test.each([MODEL_LIBRARY_CELL.curve, LFP_202_AH.curve])(
  'every step stands on the table, also where a cell leaves its line between two ticks: $name',
  (curve) => {
    // 60C: a cell leaves its line every 30 steps, a tick is five of them. No resistance, so voltages are the table's own.
    const bare: CellDesign = {
      ...MODEL_LIBRARY_CELL,
      curve,
      series_ohm: 0,
      first: NONE,
      second: NONE,
    };
    const pack = alone(bare, 0.97, 3);
    const charges = [0.9713, 0.9558, 0.9];
    pack.stateOfCharges.set(charges);
    pack.refresh();
    for (const current_A of [300, -300]) {
      for (let k = 0; k < 400; k += 1) {
        pack.step(0.02, current_A);
        const volts = charges.map((_, cell) => {
          charges[cell] = charges[cell]! + (0.02 * current_A) / bare.capacity_C;
          return openCircuitVoltage_V(bare.curve, charges[cell]!);
        });
        expect(pack.voltage_V).toBeCloseTo(
          volts.reduce((a, b) => a + b),
          9,
        );
        expect(pack.highestCell_V).toBeCloseTo(Math.max(...volts), 9);
        expect(pack.lowestCell_V).toBeCloseTo(Math.min(...volts), 9);
      }
    }
  },
);

test('what is no pack is refused', () => {
  const given = { design: NMC_60_AH, stateOfCharge: 0.5, temperature_C: 20 };
  expect(() => new Pack({ ...given, cells: 0 })).toThrow('from 1 to 10000, not 0');
  expect(() => new Pack({ ...given, cells: 4, spread: { capacity: 0.4 } })).toThrow(
    'a third or more',
  );
  expect(() => new Pack({ ...given, cells: 4, spread: { capacity: 0.1 } })).toThrow(
    'random numbers',
  );
  expect(() => alone(NMC_60_AH, 0.5).step(0, 5)).toThrow('a step of 0 s');
  expect(() => alone(NMC_60_AH, 0.5).step(1, Number.NaN)).toThrow('NaN A is none');
  expect(() => new PassiveBalancing({ resistance_ohm: 0 })).toThrow('a bleed of 0');
  expect(new Pack({ ...given, cells: 3000 }).voltage_V).toBeGreaterThan(10_000);
});

test('against Runge and Kutta: the same two pairs by fourth-order steps of 10 ms, under a changing current', () => {
  const { series_ohm, first, second, capacity_C, curve } = MODEL_LIBRARY_CELL;
  const pack = alone(MODEL_LIBRARY_CELL, 0.5);
  let state = [0, 0, 0.5];
  const rate = (at: number[], input_A: number): number[] => [
    (input_A * first.resistance_ohm - at[0]!) / first.tau_s,
    (input_A * second.resistance_ohm - at[1]!) / second.tau_s,
    input_A / capacity_C,
  ];
  const h = 0.01;
  for (let k = 0; k < 30_000; k += 1) {
    const i = 10 * Math.sin(k / 40) + 5;
    const k1 = rate(state, i);
    const k2 = rate(along(state, k1, h / 2), i);
    const k3 = rate(along(state, k2, h / 2), i);
    const k4 = rate(along(state, k3, h), i);
    state = state.map((v, j) => v + (h / 6) * (k1[j]! + 2 * k2[j]! + 2 * k3[j]! + k4[j]!));
    pack.step(h, i);
    if (k % 3000 === 0) {
      const expected_V =
        openCircuitVoltage_V(curve, state[2]!) + series_ohm * i + state[0]! + state[1]!;
      expect(pack.voltage_V).toBeCloseTo(expected_V, 9);
    }
  }
});

describe('balancing', () => {
  test('the four resistors of the table: current and heat', () => {
    for (const [ohm, volts, mA, mW] of [
      [33, 4.2, 127.3, 534.5],
      [40, 4, 100, 400],
      [82, 4.2, 51.2, 215.1],
      [10, 4.2, 420, 1764],
    ] as const) {
      const pack = new Pack({
        design: NMC_60_AH,
        cells: 2,
        stateOfCharge: 0.2,
        temperature_C: 25,
        balancing: new PassiveBalancing({ resistance_ohm: ohm }),
      });
      pack.stateOfCharges[0] = stateOfChargeAt(NMC_60_AH.curve, volts);
      pack.refresh();
      // Neighbours take turns, so two ticks make one of bleeding.
      for (let tick = 0; tick < 20; tick += 1) pack.step(0.1, 0);
      const [expected_mA, expected_mW] = [(volts / ohm) * 1000, (volts ** 2 / ohm) * 1000];
      expect(expected_mA).toBeCloseTo(mA, 0);
      expect(expected_mW).toBeCloseTo(mW, 0);
      expect(pack.balancing!.charge_C[0]! * 1000).toBeCloseTo(expected_mA, 0);
      expect(pack.bleedHeat_J * 1000).toBeCloseTo(expected_mW, 0);
      expect(pack.balancing!.charge_C[1]).toBe(0);
    }
  });

  test.each([
    ['5 % of 4 Ah at 200 mA', 0.05, 4, 0.2, 1],
    ['5 % of 4 Ah at 100 mA', 0.05, 4, 0.1, 2],
    ['5 % of 300 Ah at 300 mA', 0.05, 300, 0.3, 50],
    ['5 % of 300 Ah at 15 A', 0.05, 300, 15, 1],
    ['5 % of 300 Ah at 7.5 A', 0.05, 300, 7.5, 2],
    ['3 % of 60 Ah at 100 mA', 0.03, 60, 0.1, 18],
  ])('%s', (_what, share, capacity_Ah, bleed_A, hours) => {
    expect(balancingTime_s(share, capacity_Ah * 3600, bleed_A) / 3600).toBeCloseTo(hours, 9);
  });

  test('brings a pack together from above, and stops inside its window', () => {
    const small: CellDesign = { ...MODEL_LIBRARY_CELL, capacity_C: 180 };
    const pack = new Pack({
      design: small,
      cells: 12,
      stateOfCharge: 0.7,
      temperature_C: 25,
      spread: { stateOfCharge: 0.05 },
      random: pseudoRandom(9),
      balancing: new PassiveBalancing({ resistance_ohm: 33, window_V: 0.002 }),
    });
    const lowest = Math.min(...pack.stateOfCharges);
    for (let tick = 0; tick < 10_000; tick += 1) pack.step(0.1, 0);
    expect(Math.min(...pack.stateOfCharges)).toBe(lowest);
    expect(pack.highestCell_V - pack.lowestCell_V).toBeLessThanOrEqual(0.0021);
    expect(pack.balancing!.bleeds.every((bleeds) => bleeds === 0)).toBe(true);
  });
});

/** Any stream of numbers from 0 to below 1 will do (Park and Miller 1988). */
function pseudoRandom(seed: number): () => number {
  let state = (Math.abs(seed) % 2_147_483_646) + 1;
  return () => {
    state = (state * 48_271) % 2_147_483_647;
    return state / 2_147_483_647;
  };
}

function along(at: number[], slope: number[], h: number): number[] {
  return at.map((value, i) => value + h * slope[i]!);
}
