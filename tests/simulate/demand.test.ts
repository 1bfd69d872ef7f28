// Constant current, then what the fullest cell allows (common practice: a pack is charged by its weakest cell).
import { describe, expect, it } from 'vitest';
import { createDemand, type DemandSettings } from '../../src/simulate/demand.ts';
import { createSenses, type Senses } from '../../src/simulate/senses.ts';

const SETTINGS: DemandSettings = {
  cellLimit_V: 4.2,
  taper_V: 0.02,
  cellResistance_ohm: 0.0004,
  cutOff_A: 9,
  rise_A_per_s: 50,
  fall_A_per_s: 100,
  byTemperature: [
    [0, 54],
    [10, 270],
    [45, 0],
  ],
};
const AROUND = { limits: { voltage_V: 403, current_A: 250 }, charger: {}, stops: false };

function sensesOf(senses: Partial<Senses>): Senses {
  return { ...createSenses(), battery_V: 380, coldest_C: 25, hottest_C: 25, ...senses };
}

/** The demand after so many requests, 0.2 s apart, with what is sensed at each. */
function asked(senses: (asked_A: number) => Senses, requests: number, around = AROUND) {
  const demand = createDemand(SETTINGS);
  const all_A: number[] = [];
  for (let request = 0; request < requests; request += 1) {
    demand.consider(request * 0.2e9, senses(demand.current_A), around);
    demand.asked(request * 0.2e9);
    all_A.push(demand.current_A);
  }
  return { demand, all_A };
}

function atTemperatures(coldest_C: number, hottest_C: number): number {
  return asked(() => sensesOf({ highestCell_V: 3.8, coldest_C, hottest_C }), 60).all_A.at(-1)!;
}

describe('a demand', () => {
  it('rises by its slope to the least of the limits', () => {
    const { all_A } = asked(() => sensesOf({ highestCell_V: 3.8 }), 60);
    expect(all_A[0]).toBe(1);
    for (let i = 1; i < all_A.length; i += 1) {
      expect(all_A[i]! - all_A[i - 1]!).toBeLessThanOrEqual(10.1);
    }
    expect(all_A.at(-1)).toBe(250);
    const weak = { ...AROUND, charger: { current_A: 120 } };
    expect(asked(() => sensesOf({ highestCell_V: 3.8 }), 60, weak).all_A.at(-1)).toBe(120);
    const power = { ...AROUND, charger: { power_W: 38_000 } };
    expect(asked(() => sensesOf({ highestCell_V: 3.8 }), 60, power).all_A.at(-1)).toBe(100);
  });

  it('asks a cold pack for less, and a hot one for nothing', () => {
    expect(atTemperatures(4, 20)).toBe(54);
    expect(atTemperatures(-5, 20)).toBe(0);
    expect(atTemperatures(20, 46)).toBe(0);
  });

  it('tapers so that no cell passes its limit, and is done at its cut-off', () => {
    // A cell that fills: open circuit rises 1 mV for each 100 A·s, and 0.5 mΩ on top.
    let open_V = 4.0;
    let highest_V = 0;
    const { demand, all_A } = asked((current_A) => {
      open_V += current_A * 0.2 * 1e-5;
      const cell_V = open_V + current_A * 0.0005;
      highest_V = Math.max(highest_V, cell_V);
      return sensesOf({ highestCell_V: cell_V, current_A });
    }, 2000);
    expect(highest_V).toBeLessThan(4.2);
    expect(Math.max(...all_A)).toBeGreaterThan(200);
    expect(demand.isDone).toBe(true);
  });

  it('comes down when the vehicle wants to stop, and to nothing at once over a cell limit', () => {
    const demand = createDemand(SETTINGS);
    for (let i = 0; i < 60; i += 1) {
      demand.consider(i * 0.2e9, sensesOf({ highestCell_V: 3.8 }), AROUND);
      demand.asked(i * 0.2e9);
    }
    demand.consider(12e9, sensesOf({ highestCell_V: 3.8 }), { ...AROUND, stops: true });
    expect(demand.current_A).toBeCloseTo(230, 6);
    demand.consider(12e9, sensesOf({ highestCell_V: 4.21 }), AROUND);
    expect(demand.current_A).toBe(0);
  });
});
