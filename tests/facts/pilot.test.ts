import { describe, expect, test } from 'vitest';
import { leftReady, pilotState, readPilot, type PilotState } from '../../src/facts/pilot.ts';
import type { PilotObservation } from '../../src/trace/observation.ts';

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

  // Lowest, nominal and highest voltage of each state. IEC 61851-1:2017 Table A.4: nominal voltages also in the application
  // document JAJU858, windows from memory. SAE J1772's windows are narrower (from memory); it has none for E.
  test.each([
    ['A', [11, 12, 13], [11.4, 12.6]],
    ['B', [8, 9, 10], [8.36, 9.56]],
    ['C', [5, 6, 7], [5.48, 6.49]],
    ['D', [2, 3, 4], [2.62, 3.25]],
    ['E', [-1, 0, 1], []],
    ['F', [-13, -12, -11], [-12.6, -11.4]],
  ] as const)('state %s is %j V', (state, iec_V, sae_V) => {
    for (const voltage_V of [...iec_V, ...sae_V]) {
      expect(pilotState(voltage_V, null)).toBe(state);
    }
    for (const beyond_V of [iec_V[0] - 0.01, iec_V[2] + 0.01]) {
      expect(pilotState(beyond_V, null)).toBeNull();
    }
  });
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

const seen = (fields: Partial<PilotObservation>): PilotObservation => ({
  kind: 'pilot',
  at_ns: 0,
  ...fields,
});

describe('an observation of the pilot', () => {
  test('says its state by its letter, else by its voltage', () => {
    expect(readPilot(seen({ state: 'B' }), 'C')).toEqual({ state: 'B' });
    expect(readPilot(seen({ state: 'B', voltage_V: 6 }), 'C')).toEqual({ state: 'B' });
    expect(readPilot(seen({ voltage_V: 6 }), 'unknown')).toEqual({ state: 'C' });
    expect(readPilot(seen({ voltage_V: -12 }), 'C')).toEqual({ state: 'F' });
  });

  test('keeps the state before in a hysteresis band, and knows none outside every window', () => {
    expect(readPilot(seen({ voltage_V: 7.5 }), 'C')).toEqual({ state: 'C' });
    expect(readPilot(seen({ voltage_V: 7.5 }), 'unknown')).toEqual({ state: 'unknown' });
    expect(readPilot(seen({ voltage_V: -5 }), 'C')).toEqual({ state: 'unknown' });
  });

  // IEC 61851-1:2017 Table A.4 (from memory): PWM swings to -12 V; 100 % is X1, 0 % is state F.
  test.each([
    [{ voltage_V: 6, duty_percent: 5 }, true],
    [{ voltage_V: 6, duty_percent: 100 }, false],
    [{ voltage_V: -12, duty_percent: 0 }, false],
    [{ voltage_V: 6, duty_percent: 5, pwm: false }, false],
    [{ voltage_V: 9, negative_V: -11 }, true],
    [{ voltage_V: 9, negative_V: -13 }, true],
    [{ voltage_V: 9, negative_V: 0 }, undefined],
    [{ voltage_V: -12, negative_V: -12 }, undefined],
    [{ voltage_V: 9, negative_V: -12, duty_percent: 100 }, false],
    [{ voltage_V: 6 }, undefined],
  ])('%j: the oscillator runs: %s', (fields, pwm) => {
    expect(readPilot(seen(fields), 'unknown').pwm).toBe(pwm);
  });

  test('only C and D say that the vehicle is ready; what is unknown says nothing', () => {
    const states = ['A', 'B', 'C', 'D', 'E', 'F', 'unknown'] as const;
    expect(states.filter(leftReady)).toEqual(['A', 'B', 'E', 'F']);
  });
});
