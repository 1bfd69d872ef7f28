// The plant against closed forms: exponential discharge, slopes, conductances, and the books of energy.
import { describe, expect, it } from 'vitest';
import { NMC_60_AH, parallel } from '../../src/physics/cell.ts';
import { Pack } from '../../src/physics/pack.ts';
import { Plant, type PlantSettings } from '../../src/simulate/plant.ts';

const SETTINGS: PlantSettings = {
  rise_A_per_s: 100,
  fall_A_per_s: 200,
  off_A_per_s: 20_000,
  voltageRise_V_per_s: 400,
  dischargeTime_s: 0.2,
  cable_ohm: 0.004,
  closes_ms: 50,
  opens_ms: 15,
  locks_ms: 300,
  isolation_ohm: 1_000_000,
  holdsLow_V: 0,
};

function plantOf(settings: Partial<PlantSettings> = {}): { plant: Plant; pack: Pack } {
  const design = parallel(NMC_60_AH, 3);
  const pack = new Pack({ design, cells: 96, stateOfCharge: 0.5, temperature_C: 25 });
  return { plant: new Plant({ ...SETTINGS, ...settings }, pack, 0), pack };
}

const s = (seconds: number): number => seconds * 1e9;

function charging(current_A: number): ReturnType<typeof plantOf> {
  const made = plantOf();
  made.plant.command({ do: 'contactors', to: 'closed' });
  made.plant.advance(s(0.05));
  made.plant.command({ do: 'output', to: 'on', voltage_V: 420, current_A });
  return made;
}

describe('an open output', () => {
  it('rises with its slope, stays, and falls as U·e^(−t/τ)', () => {
    const { plant } = plantOf();
    plant.command({ do: 'output', to: 'test', voltage_V: 500, current_A: 1 });
    plant.advance(s(1));
    expect(plant.node_V).toBeCloseTo(400, 6);
    plant.advance(s(2));
    expect(plant.node_V).toBe(500);
    plant.command({ do: 'output', to: 'off', voltage_V: 0, current_A: 0 });
    plant.advance(s(2.5));
    expect(plant.node_V).toBeCloseTo(500 * Math.exp(-0.5 / 0.2), 6);
    // Five time constants to less than a hundredth; below 60 V in τ·ln(500/60) = 0.424 s, of the second allowed.
    plant.advance(s(3));
    expect(plant.node_V).toBeLessThan(5);
  });

  it('comes out the same in one step or in many', () => {
    const [one, many] = [plantOf().plant, plantOf().plant];
    for (const plant of [one, many]) {
      plant.command({ do: 'output', to: 'precharge', voltage_V: 355, current_A: 1 });
    }
    one.advance(s(0.7));
    for (let ms = 1; ms <= 700; ms += 1) many.advance(ms * 1e6);
    expect(many.node_V).toBeCloseTo(one.node_V, 6);
  });

  it('stays as low as its own meter reads high', () => {
    const { plant } = plantOf({ holdsLow_V: 40 });
    plant.command({ do: 'output', to: 'precharge', voltage_V: 355, current_A: 1 });
    plant.advance(s(3));
    expect(plant.node_V).toBe(315);
  });
});

describe('a closed contactor', () => {
  it('closes after its time, and puts the node at the battery', () => {
    const { plant } = charging(0);
    expect(plant.contactors.state).toBe('closed');
    plant.advance(s(0.06));
    expect(plant.node_V).toBe(plant.battery_V);
  });

  it('lets the current follow its slopes, up, down and off', () => {
    const { plant } = charging(200);
    plant.advance(s(1.05));
    expect(plant.current_A).toBeCloseTo(100, 6);
    plant.advance(s(3.05));
    expect(plant.current_A).toBe(200);
    plant.command({ do: 'output', to: 'on', voltage_V: 420, current_A: 0 });
    plant.advance(s(3.55));
    expect(plant.current_A).toBeCloseTo(100, 6);
    plant.command({ do: 'output', to: 'off', voltage_V: 0, current_A: 0 });
    expect(plant.next_ns()).toBeCloseTo(s(3.555), -3);
    plant.advance(s(3.555));
    expect(plant.current_A).toBe(0);
  });

  it('books the energy the pack books, and gives no current past the voltage it is set to', () => {
    const { plant, pack } = charging(150);
    plant.advance(s(30));
    expect(plant.energy_Wh).toBeCloseTo(pack.energyIn_J / 3600, 0);
    const set_V = pack.restVoltage_V + 1;
    plant.command({ do: 'output', to: 'on', voltage_V: set_V, current_A: 150 });
    plant.advance(s(40));
    expect(plant.output_V).toBeCloseTo(set_V, 1);
    expect(plant.current_A).toBeLessThan(150);
  });

  it('stays where it is welded', () => {
    const { plant } = charging(50);
    plant.contactors.stuck = 'closed';
    plant.command({ do: 'contactors', to: 'open' });
    plant.advance(s(2));
    expect(plant.contactors.state).toBe('closed');
  });
});

describe('isolation', () => {
  it('drifts by its conductance: halfway from 1 MΩ to 100 kΩ is 1/(0.5 µS + 5 µS)', () => {
    const { plant } = plantOf();
    plant.driftIsolation(100_000, 10);
    plant.advance(s(5));
    expect(plant.isolation_ohm()).toBeCloseTo(1 / (0.5e-6 + 5e-6), 3);
    plant.advance(s(20));
    expect(plant.isolation_ohm()).toBeCloseTo(100_000, 6);
  });
});
