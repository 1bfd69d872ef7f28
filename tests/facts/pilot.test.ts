import { describe, expect, test } from 'vitest';
import {
  asksDigital,
  currentFromDuty,
  IEC_WINDOWS,
  pilotState,
  type PilotState,
  SAE_WINDOWS,
} from '../../src/facts/pilot.ts';

/** Resistance the vehicle puts on the pilot: 2740 Ω, with 1300 or 270 Ω beside it once S2 closes (J1772, from memory). */
const R2_ohm = 2740;
const beside = (switched_ohm: number): number => (R2_ohm * switched_ohm) / (R2_ohm + switched_ohm);
const LOADS_ohm = { B: R2_ohm, C: beside(1300), D: beside(270) };

/** Positive peak: generator behind its resistor, the vehicle's diode and load to earth. */
function peak_V(
  generator_V: number,
  source_ohm: number,
  diode_V: number,
  load_ohm: number,
): number {
  return ((generator_V - diode_V) * load_ohm) / (load_ohm + source_ohm) + diode_V;
}

describe('the windows against the circuit that makes the voltages', () => {
  test('loads are 2.74 kΩ, 882 Ω and 246 Ω (application document JAJU858, table of pilot states)', () => {
    expect(Object.values(LOADS_ohm).map(Math.round)).toEqual([2740, 882, 246]);
  });

  test.each([
    ['B', 8.979],
    ['C', 5.995],
    ['D', 2.929],
  ] as const)('12 V behind 1 kΩ and a diode of 0.7 V give %s %d V', (state, nominal_V) => {
    const voltage_V = peak_V(12, 1000, 0.7, LOADS_ohm[state]);
    expect(voltage_V).toBeCloseTo(nominal_V, 3);
    expect(pilotState(voltage_V, null)).toBe(state);
    expect(pilotState(voltage_V, null, SAE_WINDOWS)).toBe(state);
  });

  // Generator 11.4 to 12.6 V, resistors ±3 %, diode 0.55 to 0.85 V.
  test.each([
    ['B', 8.37, 9.594],
    ['C', 5.472, 6.531],
    ['D', 2.589, 3.282],
  ] as const)(
    'the worst case of %s, %d to %d V, keeps to its window of IEC 61851-1',
    (state, least, most) => {
      const load_ohm = LOADS_ohm[state];
      const worst = [
        peak_V(11.4, 1030, 0.55, load_ohm * 0.97),
        peak_V(12.6, 970, 0.85, load_ohm * 1.03),
      ];
      expect(worst[0]).toBeCloseTo(least, 3);
      expect(worst[1]).toBeCloseTo(most, 3);
      expect(worst.map((voltage_V) => pilotState(voltage_V, null))).toEqual([state, state]);
    },
  );

  test.each([IEC_WINDOWS, SAE_WINDOWS])(
    'nominal voltages are +12, +9, +6, +3, 0, −12 V ($source)',
    (of) => {
      expect(of.windows.map(({ nominal_V }) => nominal_V)).toEqual([12, 9, 6, 3, 0, -12]);
      for (const { state, least_V, nominal_V, most_V } of of.windows) {
        const states = [least_V, nominal_V, most_V].map((voltage_V) =>
          pilotState(voltage_V, null, of),
        );
        expect(states).toEqual([state, state, state]);
      }
    },
  );
});

describe('between the windows', () => {
  test.each([10.5, 7.5, 4.5, 1.5])('at %d V the previous state stays', (voltage_V) => {
    for (const previous of ['A', 'B', 'C', 'D', 'E', 'F', null] as const) {
      expect(pilotState(voltage_V, previous)).toBe(previous);
    }
  });

  test.each([13.5, -1.5, -10.9, -13.5, Number.NaN])('at %d V there is no state', (voltage_V) => {
    expect(pilotState(voltage_V, 'C')).toBeNull();
  });

  test('a voltage that falls and rises changes state at different voltages', () => {
    let state: PilotState | null = null;
    const seen = [9, 8, 7.9, 7.1, 7, 7.5, 7.9, 8].map((voltage_V) => {
      state = pilotState(voltage_V, state);
      return state;
    });
    expect(seen.join('')).toBe('BBBBCCCB');
  });
});

describe('the duty cycle', () => {
  // IEC 61851-1:2017 Table A.8; slopes, 51 A and 80 A also in a semiconductor maker's forum thread on J1772 pilots.
  test.each([
    [0, 0],
    [2.9, 0],
    [5, 0],
    [7.5, 0],
    [7.99, 0],
    [8, 6],
    [9.99, 6],
    [10, 6],
    [16, 9.6],
    [50, 30],
    [85, 51],
    [86, 55],
    [90, 65],
    [96, 80],
    [96.5, 80],
    [97, 80],
    [97.1, 0],
    [100, 0],
    [Number.NaN, 0],
  ])('%d %% allows %d A', (duty_percent, current_A) => {
    expect(currentFromDuty(duty_percent)).toBeCloseTo(current_A, 12);
  });

  test('belongs to the lower slope at 85 % and to the upper one just above', () => {
    expect(currentFromDuty(85)).toBe(51);
    expect(currentFromDuty(85.001)).toBeGreaterThan(52.5);
  });

  test('asks for digital communication from 3 to 7 %', () => {
    expect([2.9, 3, 5, 7, 7.1].map(asksDigital)).toEqual([false, true, true, true, false]);
  });
});
