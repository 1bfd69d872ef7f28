// The whole circuit: power stage, contactors, cable, capacitors and pack. Rates and times by hand from the figures of
// IEC 61851-23 (from memory, beside them in src/physics); contactor life from a public datasheet of a 400 A contactor.
import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { MODEL_LIBRARY_CELL, NMC_60_AH, parallel } from '../../src/physics/cell.ts';
import {
  CHARGER_150_KW,
  ChargerStage,
  permittedCurrentError_A,
  type ChargerDesign,
} from '../../src/physics/charger-stage.ts';
import { ChargingCircuit, type CircuitOptions } from '../../src/physics/charging-circuit.ts';
import { copperResistance_ohm } from '../../src/physics/conductor.ts';
import { arcEnergy_J, Contactor } from '../../src/physics/contactor.ts';
import { filling, FULL_RATE_perHour, NMC_FAST_CHARGE } from '../../src/physics/limits.ts';
import { Pack } from '../../src/physics/pack.ts';
import { expectClose } from './close.ts';

const MS = 0.001;

function pack(stateOfCharge = 0.3): Pack {
  return new Pack({ design: NMC_60_AH, cells: 96, stateOfCharge, temperature_C: 25 });
}

function circuitOf(options: Partial<CircuitOptions> = {}): ChargingCircuit {
  return new ChargingCircuit({ charger: CHARGER_150_KW, pack: pack(), ...options });
}

function run(circuit: ChargingCircuit, seconds: number, dt_s = MS): void {
  const steps = Math.round(seconds / dt_s);
  for (let step = 0; step < steps; step += 1) circuit.step(dt_s);
}

/** Pre-charged to the battery and closed, the stage holding the voltage. */
function connected(options: Partial<CircuitOptions> = {}): ChargingCircuit {
  const circuit = circuitOf(options);
  circuit.chargerContactor.command('closed');
  run(circuit, 0.05);
  circuit.stage.command('on', circuit.battery_V, 2);
  run(circuit, 0.2);
  circuit.vehiclePositive.command('closed');
  circuit.vehicleNegative.command('closed');
  run(circuit, 0.1);
  expect(circuit.joined).toBe(true);
  return circuit;
}

describe('ramps', () => {
  test.each([
    [20, 0, 125, 6.25],
    [20, 0, 200, 10],
    [100, 200, 5, 1.95],
    [200, 200, 5, 0.975],
    [100, 200, 1, 1.99],
    [100, 500, 5, 4.95],
  ])('at %d A/s from %d to %d A: %d s', (rate, from_A, to_A, expected_s) => {
    const charger: ChargerDesign = {
      ...CHARGER_150_KW,
      highest_W: 1e6,
      rise_A_per_s: from_A < to_A ? rate : 1e6,
      fall_A_per_s: rate,
    };
    const circuit = connected({ charger, pack: strong() });
    circuit.stage.command('on', 500, from_A);
    run(circuit, 0.1);
    circuit.stage.command('on', 500, to_A);
    let elapsed_s = 0;
    for (; Math.abs(circuit.stage.current_A - to_A) > 1e-6; elapsed_s += MS) circuit.step(MS);
    expectClose(elapsed_s, expected_s, 2e-3);
    expect(circuit.current_A).toBeCloseTo(to_A, 0);
  });

  test('a change of 20 A at 20 A/s has settled within 1 s', () => {
    const circuit = connected({ charger: { ...CHARGER_150_KW, rise_A_per_s: 20 } });
    circuit.stage.command('on', 420, 40);
    run(circuit, 2.5);
    circuit.stage.command('on', 420, 60);
    run(circuit, 1);
    expect(Math.abs(circuit.current_A - 60)).toBeLessThan(permittedCurrentError_A(60));
    expect(permittedCurrentError_A(40)).toBe(2.5);
    expect(permittedCurrentError_A(120)).toBe(6);
  });

  test('an emergency brings 500 A below 5 A within 30 ms', () => {
    const circuit = connected({
      charger: { ...CHARGER_150_KW, highest_W: 1e6, rise_A_per_s: 1e4 },
      pack: strong(),
    });
    circuit.stage.command('on', 500, 500);
    run(circuit, 1);
    expect(circuit.current_A).toBeCloseTo(500, 0);
    circuit.stage.command('emergency');
    run(circuit, 0.03);
    expect(circuit.current_A).toBeLessThan(5);
  });
});

describe('what the stage holds', () => {
  test('current, then voltage, and power where both would be too much', () => {
    const circuit = connected();
    const held_V = circuit.battery_V + 6;
    circuit.stage.command('on', held_V, 50);
    run(circuit, 1);
    expect(circuit.stage.holds).toBe('current');
    expect(circuit.current_A).toBeCloseTo(50, 1);
    let held = 0;
    for (let k = 0; k < 4000 && held === 0; k += 1) {
      circuit.step(0.25);
      if (circuit.stage.holds === 'voltage') held = circuit.stage.time_s;
    }
    expect(held).toBeGreaterThan(0);
    const before_A = circuit.current_A;
    run(circuit, 60, 0.01);
    expect(circuit.output_V).toBeCloseTo(held_V, 6);
    expect(circuit.current_A).toBeLessThan(before_A);
    circuit.stage.command('on', 500, 499);
    run(circuit, 6);
    expect(circuit.stage.holds).toBe('power');
    expectClose(circuit.output_V * circuit.stage.current_A, 150_000, 1e-3);
  });

  test('the voltage never passes the setpoint and slews by at most 20 V/ms', () => {
    const circuit = circuitOf({
      charger: { ...CHARGER_150_KW, slew_V_per_s: 20_000, rise_A_per_s: 1e5 },
    });
    circuit.chargerContactor.command('closed');
    run(circuit, 0.05);
    circuit.stage.command('on', 500, 50);
    let before_V = 0;
    for (let k = 0; k < 100; k += 1) {
      circuit.step(MS);
      expect(circuit.output_V - before_V).toBeLessThanOrEqual(20 + 1e-6);
      expect(circuit.output_V).toBeLessThanOrEqual(500 + 1e-6);
      before_V = circuit.output_V;
    }
    expect(circuit.output_V).toBeCloseTo(500, 6);
  });

  test('a charger out of tolerance delivers what its errors make of the request', () => {
    const charger = {
      ...CHARGER_150_KW,
      currentError: 0.1,
      currentOffset_A: 1,
      voltageError: 0.02,
    };
    const circuit = connected({ charger });
    circuit.stage.command('on', 420, 100);
    run(circuit, 3);
    expect(circuit.current_A).toBeCloseTo(111, 1);
    expect(Math.abs(circuit.current_A - 100)).toBeGreaterThan(permittedCurrentError_A(100));
  });

  test('a current that the voltage held low falls from where it is, not from what was asked', () => {
    const circuit = connected();
    circuit.stage.command('on', circuit.battery_V + 2, 300);
    run(circuit, 2);
    expect(circuit.stage.holds).toBe('voltage');
    const held_A = circuit.stage.current_A;
    expect(held_A).toBeLessThan(40);
    circuit.stage.command('off');
    run(circuit, held_A / CHARGER_150_KW.fall_A_per_s + 2 * MS);
    expect(circuit.stage.current_A).toBe(0);
  });

  test('ripple has its amplitude and no mean, at steps that are short or long against it', () => {
    const charger = { ...CHARGER_150_KW, ripple_A: 6, ripple_Hz: 50 };
    const stage = new ChargerStage(charger);
    stage.command('on', 900, 100);
    let [lowest_A, highest_A, charge_C] = [Infinity, -Infinity, 0];
    for (let k = 0; k < 2000; k += 1) stage.step(MS, 0, 1e-3, 400);
    for (let k = 0; k < 1000; k += 1) {
      const fed_A = stage.step(MS, 0, 1e-3, 400);
      lowest_A = Math.min(lowest_A, fed_A);
      highest_A = Math.max(highest_A, fed_A);
      charge_C += fed_A * MS;
    }
    expect(highest_A - lowest_A).toBeCloseTo(6, 0);
    expect(charge_C).toBeCloseTo(100, 6);
    expect(stage.step(7.3, 0, 1e-3, 400)).toBeCloseTo(100, 1);
  });

  test('what cannot be asked is refused', () => {
    const stage = new ChargerStage(CHARGER_150_KW);
    expect(() => stage.command('on', -1, 5)).toThrow('cannot be asked');
    expect(() => stage.command('on', Number.NaN, 5)).toThrow('cannot be asked');
  });
});

test('a pack with spread is filled by current, topped off by its highest cell, and full below the sum of its limits', () => {
  let drawn = 7;
  const cells = new Pack({
    design: NMC_60_AH,
    cells: 96,
    stateOfCharge: 0.9,
    temperature_C: 25,
    spread: { capacity: 0.02, resistance: 0.1, stateOfCharge: 0.01 },
    random: () => (drawn = (drawn * 48_271) % 2_147_483_647) / 2_147_483_647,
  });
  const circuit = connected({ pack: cells });
  const full_A = 60 * FULL_RATE_perHour;
  const controls: string[] = [];
  let asked_A = 60;
  for (let seconds = 0; asked_A > full_A; seconds += 0.1) {
    expect(seconds).toBeLessThan(3600);
    // What a vehicle does: ten times a second it asks for what its weakest cell bears now.
    const limit = filling(cells, NMC_FAST_CHARGE, 60);
    asked_A = limit.current_A;
    if (controls.at(-1) !== limit.by) controls.push(limit.by);
    circuit.stage.command('on', 450, asked_A);
    run(circuit, 0.1, 0.02);
    expect(cells.highestCell_V).toBeLessThan(4.2 + 0.002);
  }
  expect(controls).toEqual(['wish', 'voltage']);
  expect(cells.highestCell_V).toBeGreaterThan(4.195);
  expect(cells.voltage_V).toBeLessThan(96 * 4.2 - 1);
  expect(cells.lowestCell_V).toBeLessThan(4.19);
});

describe('pre-charge in the circuit', () => {
  test('2 A lift 120 µF to 400 V in 24 ms, once the ramp lets them', () => {
    const circuit = circuitOf({
      charger: { ...CHARGER_150_KW, rise_A_per_s: 1e6, slew_V_per_s: 1e6 },
    });
    circuit.chargerContactor.command('closed');
    run(circuit, 0.05);
    circuit.stage.command('on', 400, 2);
    let elapsed_s = 0;
    for (; circuit.inlet_V < 399.9; elapsed_s += MS) circuit.step(MS);
    expectClose(elapsed_s, (120e-6 * 400) / 2, 0.05);
  });

  test('through a resistor the inlet follows the output with R·C of both capacitors in series', () => {
    const options = { preCharge_ohm: 1000, inlet_F: 20e-6, output_F: 1e-3, passive_ohm: Infinity };
    const circuit = circuitOf({
      ...options,
      charger: { ...CHARGER_150_KW, rise_A_per_s: 1e9, slew_V_per_s: 1e9 },
    });
    circuit.stage.command('on', 400, 500);
    run(circuit, 0.01);
    expect(circuit.inlet_V).toBe(0);
    expect(circuit.output_V).toBeCloseTo(400, 9);
    circuit.preCharging = true;
    run(circuit, 0.02, 1e-5);
    // The stage holds 400 V on its side, so the inlet's time constant is 1000 Ω · 20 µF.
    expectClose(circuit.inlet_V, 400 * (1 - Math.exp(-1)), 1e-3);
  });

  test('closing 20 V apart and 400 V apart', () => {
    const near = circuitOf();
    near.chargerContactor.command('closed');
    run(near, 0.05);
    near.stage.command('on', near.battery_V - 19.9, 2);
    run(near, 0.2);
    close(near);
    expect(near.hardestStrike!.difference_V).toBeCloseTo(-19.9, 3);
    expect(near.vehicleNegative.welded).toBe(false);
    const loop_ohm = near.pack.resistance_ohm + 0.6e-3;
    expectClose(near.hardestStrike!.i2t_A2s, (120e-6 * 19.9 ** 2) / (2 * loop_ohm), 1e-4);
    expect(near.hardestStrike!.peak_A).toBeLessThan(19.9 / loop_ohm);

    const empty = circuitOf({
      inlet_F: 2e-3,
      pack: new Pack({
        design: parallel(NMC_60_AH, 4),
        cells: 108,
        stateOfCharge: 0.5,
        temperature_C: 25,
      }),
    });
    close(empty);
    expect(empty.hardestStrike!.difference_V).toBeLessThan(-400);
    expect(empty.vehicleNegative.welded).toBe(true);
    empty.vehiclePositive.command('open');
    empty.vehicleNegative.command('open');
    run(empty, 0.1);
    expect(empty.vehicleNegative.conducts).toBe(true);
    expect(empty.vehiclePositive.conducts).toBe(false);
  });
});

describe('the end of a session', () => {
  test('the discharge resistor brings output and inlet below 60 V within 1 s', () => {
    const circuit = circuitOf();
    circuit.chargerContactor.command('closed');
    run(circuit, 0.05);
    circuit.stage.command('on', 900, 10);
    run(circuit, 0.5);
    expect(circuit.inlet_V).toBeCloseTo(900, 3);
    circuit.stage.command('off');
    run(circuit, 0.05);
    circuit.discharging = true;
    run(circuit, 1);
    expect(circuit.output_V).toBeLessThan(60);
    expect(circuit.inlet_V).toBeLessThan(60);
  });

  test('with both contactors welded the inlet stays at the battery', () => {
    const circuit = connected();
    circuit.vehiclePositive.weld();
    circuit.vehicleNegative.weld();
    circuit.stage.command('off');
    circuit.vehiclePositive.command('open');
    circuit.vehicleNegative.command('open');
    run(circuit, 0.1);
    circuit.discharging = true;
    run(circuit, 1);
    expect(circuit.inlet_V).toBeGreaterThan(300);
    expect(circuit.joined).toBe(true);
  });

  test('a crash isolates the pack within the release time of its contactors: milliseconds (common practice)', () => {
    const circuit = connected();
    circuit.stage.command('on', 420, 100);
    run(circuit, 2);
    circuit.vehiclePositive.command('open');
    circuit.vehicleNegative.command('open');
    circuit.stage.command('emergency');
    run(circuit, 0.013);
    expect(circuit.joined).toBe(false);
    expect(circuit.current_A).toBe(0);
    expect(circuit.output_V).toBeLessThan(920 * 1.1);
  });
});

describe('on the way', () => {
  test('contacts warm by the current, and the rails to earth make up the inlet', () => {
    const circuit = connected();
    circuit.stage.command('on', 450, 200);
    run(circuit, 62, 0.01);
    // 50 K at 250 A in the end: 32 K at 200 A, a tenth of the time constant of 600 s.
    expectClose(circuit.contacts.rise_K, 32 * (1 - Math.exp(-0.1)), 0.02);
    expectClose(circuit.isolation.positive_V + circuit.isolation.negative_V, circuit.inlet_V);
    expectClose(circuit.isolation.positive_V, circuit.inlet_V / 2, 1e-3);
  });

  test('what opens under current burns, and no other', () => {
    const circuit = connected();
    circuit.stage.command('on', 450, 100);
    run(circuit, 2);
    circuit.vehiclePositive.command('open');
    run(circuit, 0.02);
    expectClose(circuit.vehiclePositive.arcHeat_J, arcEnergy_J(100, circuit.battery_V), 0.03);
    expect(circuit.vehicleNegative.arcHeat_J).toBe(0);
    circuit.chargerContactor.command('open');
    run(circuit, 0.02);
    expect(circuit.chargerContactor.arcHeat_J).toBeLessThan(1e-3);

    const other = connected();
    other.stage.command('on', 450, 100);
    run(other, 2);
    other.chargerContactor.command('open');
    run(other, 0.02);
    expectClose(other.chargerContactor.arcHeat_J, arcEnergy_J(100, other.battery_V), 0.03);
  });
});

describe('a contactor', () => {
  test('takes 25 ms to close, bounces up to 7 of them, and 12 ms to release', () => {
    const contactor = new Contactor();
    contactor.command('closed');
    const conducts: boolean[] = [];
    let touches = 0;
    for (let k = 0; k < 300; k += 1) {
      contactor.step(1e-4);
      conducts.push(contactor.conducts);
      touches += contactor.touches;
    }
    expect(conducts.indexOf(true)).toBeGreaterThanOrEqual(179);
    expect(conducts.lastIndexOf(false)).toBeLessThan(250);
    expect(touches).toBe(3);
    contactor.command('open');
    for (let k = 0; k < 11; k += 1) contactor.step(MS);
    expect(contactor.conducts).toBe(true);
    contactor.step(1.1 * MS);
    expect([contactor.conducts, contactor.parts]).toEqual([false, true]);
  });

  test('called back before it touched, it never parted', () => {
    const contactor = new Contactor();
    contactor.command('closed');
    contactor.step(5 * MS);
    contactor.command('open');
    for (let k = 0; k < 30; k += 1) {
      contactor.step(MS);
      expect([contactor.conducts, contactor.parts, contactor.touches]).toEqual([false, false, 0]);
    }
  });

  test('one long step closes it, with every touch counted', () => {
    const contactor = new Contactor();
    contactor.command('closed');
    contactor.step(1);
    expect([contactor.conducts, contactor.touches]).toEqual([true, 3]);
  });

  // Datasheet: 320 V, 90 % pre-charge 50,000 operations, 80 % 50.
  test.each([
    [32, 50_000],
    [64, 50],
  ])('bears closings %d V apart %d times', (difference_V, life) => {
    const contactor = closed();
    const i2t_A2s = (500e-6 * difference_V ** 2) / (2 * 20e-3);
    for (let operation = 1; operation < life; operation += 1) contactor.strike(i2t_A2s);
    expect(contactor.welded).toBe(false);
    contactor.strike(i2t_A2s);
    contactor.strike(i2t_A2s);
    expect(contactor.welded).toBe(true);
  });

  test('welds at once without pre-charge, and at its largest break, 2000 A at 320 V', () => {
    const struck = closed();
    struck.strike(2000);
    expect(struck.welded).toBe(true);
    const broken = closed();
    broken.arc(200, 320);
    // The square of a tenth.
    expect(broken.wear).toBeCloseTo(0.01, 12);
    broken.arc(1000, 320);
    expect(broken.welded).toBe(false);
    broken.arc(2000, 320);
    expect(broken.welded).toBe(true);
    expect(broken.arcHeat_J).toBeCloseTo(arcEnergy_J(3200, 320), 9);
  });

  test('the heat of an arc, by summing its voltage and current', () => {
    const strips = 10_000;
    let heat_J = 0;
    for (let k = 0; k < strips; k += 1) {
      const share = (k + 0.5) / strips;
      heat_J += ((400 * share * 50 * (1 - share)) / strips) * 0.005;
    }
    expectClose(arcEnergy_J(50, 400), heat_J, 1e-6);
  });

  test('stuck and loosened', () => {
    const contactor = closed();
    contactor.stick();
    contactor.command('open');
    contactor.step(1);
    expect(contactor.conducts).toBe(true);
    contactor.loosen();
    contactor.step(1);
    expect(contactor.conducts).toBe(false);
  });
});

describe('the books of the circuit', () => {
  const command = fc.record({
    mode: fc.constantFrom('on', 'on', 'off', 'emergency') as fc.Arbitrary<
      'on' | 'off' | 'emergency'
    >,
    voltage_V: fc.double({ min: 0, max: 500, noNaN: true }),
    current_A: fc.double({ min: 0, max: 300, noNaN: true }),
    charger: fc.constantFrom('open', 'closed') as fc.Arbitrary<'open' | 'closed'>,
    vehicle: fc.constantFrom('open', 'closed') as fc.Arbitrary<'open' | 'closed'>,
    discharging: fc.boolean(),
    dt_s: fc.constantFrom(1e-4, 1e-3, 0.01, 0.25),
    steps: fc.integer({ min: 1, max: 60 }),
  });

  test('every coulomb fed is in the pack, on a capacitor, or leaked; every value stays finite', () => {
    fc.assert(
      fc.property(fc.array(command, { minLength: 1, maxLength: 12 }), (commands) => {
        const cells = new Pack({
          design: parallel(MODEL_LIBRARY_CELL, 20),
          cells: 96,
          stateOfCharge: 0.5,
          temperature_C: 15,
        });
        const circuit = circuitOf({ pack: cells });
        for (const asked of commands) {
          circuit.stage.command(asked.mode, asked.voltage_V, asked.current_A);
          circuit.chargerContactor.command(asked.charger);
          circuit.vehiclePositive.command(asked.vehicle);
          circuit.vehicleNegative.command(asked.vehicle);
          circuit.discharging = asked.discharging;
          for (let step = 0; step < asked.steps; step += 1) {
            circuit.step(asked.dt_s);
            expect(circuit.output_V).toBeLessThanOrEqual(500.001);
            expect(circuit.stage.current_A).toBeGreaterThanOrEqual(0);
          }
        }
        const balance_C = circuit.fed_C - circuit.leaked_C - circuit.stored_C - cells.charge_C;
        const gross_C = circuit.fed_C + circuit.leaked_C + Math.abs(cells.charge_C) + 1;
        expect(Math.abs(balance_C)).toBeLessThan(1e-9 * gross_C);
        expect(Number.isFinite(circuit.battery_V + circuit.inlet_V + circuit.current_A)).toBe(true);
      }),
      { numRuns: 150 },
    );
  });

  test('the energy fed is in the pack, on a capacitor, or heat of cable and contacts, by trapezoids of 10 µs', () => {
    const circuit = connected({ passive_ohm: Infinity });
    const capacitors_J = (): number =>
      (100e-6 * circuit.output_V ** 2 + 20e-6 * circuit.inlet_V ** 2) / 2;
    circuit.stage.command('on', 420, 150);
    const begun_J = capacitors_J() + circuit.pack.energyIn_J;
    const link_ohm = copperResistance_ohm(10, 70) + 2 * 0.1e-3 + 2 * 0.3e-3;
    let [fed_J, heat_J, fed_C] = [0, 0, circuit.fed_C];
    const dt_s = 1e-5;
    for (let step = 0; step < 100_000; step += 1) {
      const before_V = circuit.output_V;
      circuit.step(dt_s);
      fed_J += ((circuit.fed_C - fed_C) * (before_V + circuit.output_V)) / 2;
      fed_C = circuit.fed_C;
      heat_J += (circuit.cable_A ** 2 * link_ohm + circuit.current_A ** 2 * 2 * 0.3e-3) * dt_s;
    }
    const found_J = capacitors_J() + circuit.pack.energyIn_J - begun_J + heat_J;
    expectClose(found_J, fed_J, 1e-6);
    expect(heat_J).toBeGreaterThan(1e-5 * fed_J);
  });

  test('cable drop: output and inlet differ by under 1 V at 200 A', () => {
    const circuit = connected();
    circuit.stage.command('on', 450, 200);
    run(circuit, 3);
    const drop_V = circuit.output_V - circuit.inlet_V;
    // 2 × 5 m of 70 mm² make 0.5 V; two contacts of 0.1 mΩ and two contactors of 0.3 mΩ add 0.16 V.
    expectClose(drop_V, 0.5 + 200 * 0.8e-3, 1e-2);
  });
});

function strong(): Pack {
  const design = parallel(NMC_60_AH, 8);
  return new Pack({ design, cells: 96, stateOfCharge: 0.4, temperature_C: 25 });
}

function close(circuit: ChargingCircuit): void {
  circuit.vehiclePositive.command('closed');
  circuit.vehicleNegative.command('closed');
  run(circuit, 0.1);
}

function closed(): Contactor {
  const contactor = new Contactor();
  contactor.command('closed');
  for (let k = 0; k < 40; k += 1) contactor.step(MS);
  return contactor;
}
