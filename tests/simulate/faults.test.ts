// What goes wrong, at the times the rules and the timers give: timeouts of ISO 15118-2 Table 109, from memory.
import { describe, expect, it } from 'vitest';
import type { Observation } from '../../src/trace/observation.ts';
import { brokenRules } from '../../src/simulate/judge.ts';
import type { ScenarioRun } from '../../src/simulate/run-scenario.ts';
import { replay, rulesOf, run } from './support.ts';

const LONG = { pack: { stateOfCharge_percent: 50 }, target_percent: 60 } as const;

function at<K extends Observation['kind']>(
  { observations }: ScenarioRun,
  kind: K,
  fits: (one: Extract<Observation, { kind: K }>) => boolean,
): number {
  const found = observations.findLast(
    (one) => one.kind === kind && fits(one as Extract<Observation, { kind: K }>),
  );
  expect(found, `no ${kind} that fits`).toBeDefined();
  return found!.at_ns / 1e9;
}

describe('a crash', () => {
  const crash = { at_s: 15, what: 'alarm', side: 'vehicle', alarm: 'crash' } as const;
  const simulated = run({ protocol: 'din70121', vehicle: LONG, faults: [crash] });

  it('opens the pack as soon as a contactor can, and holds', async () => {
    const opened_s = at(simulated, 'contactor', ({ state }) => state === 'open');
    expect(opened_s).toBeCloseTo(15.015, 6);
    const result = await replay(simulated);
    expect(rulesOf(result)['crash-isolates']).toBe('holds');
    expect(result.verdict).toBe('holds');
  });
});

describe('silence', () => {
  const silence = { at_s: 15, what: 'silence' } as const;
  const simulated = run({
    protocol: 'iso15118-2',
    vehicle: LONG,
    duration_s: 90,
    faults: [silence],
  });

  it('is noticed by the vehicle 0.25 s after the request that nobody answers', async () => {
    const last_s = at(simulated, 'message', ({ from }) => from === 'vehicle');
    const gaveUp_s = at(simulated, 'pilot', ({ state, pwm }) => state === 'B' && pwm === true);
    // The request itself is lost too: it was made at most 0.2 s and an answer's time after the last one seen.
    expect(gaveUp_s - last_s).toBeGreaterThan(0.25);
    expect(gaveUp_s - last_s).toBeLessThan(0.25 + 0.2 + 0.03);
    expect((await replay(simulated)).verdict).toBe('holds');
  });

  it('ends the session of the charger 60 s after the last thing it saw, the pilot', () => {
    const last_s = at(simulated, 'pilot', ({ state, pwm }) => state === 'B' && pwm === true);
    const off_s = at(simulated, 'pilot', ({ pwm }) => pwm === false);
    // The oscillator runs 1.5 s longer.
    expect(off_s - last_s).toBeCloseTo(61.5, 3);
  });
});

describe('a weld', () => {
  const weld = { at_s: 12, what: 'weld' } as const;
  const simulated = run({ protocol: 'din70121', faults: [weld] });

  it('is told, and the connector stays locked', async () => {
    const result = await replay(simulated);
    expect(result.verdict).toBe('holds');
    expect(rulesOf(result)['welded-told']).toBe('holds');
    const told_s = at(
      simulated,
      'alarm',
      ({ side, alarm }) => side === 'vehicle' && alarm === 'fault',
    );
    expect(told_s).toBeGreaterThan(12);
    const locks = simulated.observations.filter(({ kind }) => kind === 'lock');
    expect(locks).toMatchObject([{ state: 'locked' }]);
  });
});

describe('a sensor that lies', () => {
  it('to the vehicle at its inlet makes it close too early, and the trace shows it', async () => {
    const reads = { value: 360 };
    const lie = { at_s: 1, what: 'sensor', sensor: 'vehicle inlet voltage', reads } as const;
    const result = await replay(run({ protocol: 'din70121', faults: [lie] }));
    expect(brokenRules(result)).toEqual(['gate-before-close']);
    expect(result.sessions[0]!.findings[0]!.owners).toEqual(['vehicle']);
  });

  it('to the charger of its isolation lets it go on over a fault that a meter sees', async () => {
    const lie = { at_s: 1, what: 'sensor', sensor: 'charger isolation', reads: 'stuck' } as const;
    const fault = { at_s: 15, what: 'isolation', to_ohm: 20_000 } as const;
    const result = await replay(
      run({ protocol: 'din70121', vehicle: LONG, duration_s: 30, faults: [lie, fault] }),
    );
    expect(brokenRules(result)).toContain('isolation-first');
  });
});

describe('a pulled plug', () => {
  it('takes the pilot to A, and the charger its output off at once', async () => {
    const unplug = { at_s: 15, what: 'unplug' } as const;
    const simulated = run({ protocol: 'iso15118-2', vehicle: LONG, faults: [unplug] });
    expect(at(simulated, 'pilot', ({ state }) => state === 'A')).toBe(15);
    const current = simulated.observations.findLast(({ kind }) => kind === 'current');
    expect(current).toMatchObject({ current_A: 0 });
    // At 20 kA/s, 250 A are gone in 12.5 ms.
    const gone = simulated.observations.find(
      (one) => one.kind === 'current' && one.at_ns >= 15e9 && one.current_A === 0,
    );
    expect(gone!.at_ns / 1e9).toBeCloseTo(15.0125, 3);
  });
});
