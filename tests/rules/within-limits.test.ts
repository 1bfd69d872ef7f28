// within-limits: voltage, current and power within both sides' latest limits. Tolerances of IEC 61851-23:2014,
// 101.2.1: current 2.5 A up to 50 A and 5 % above; voltage 5 %; a report may be 5 V off (known roughly).
import { describe, expect, it } from 'vitest';
import { frameOf } from '../support/alter.ts';
import { physical } from '../../src/protocols/system-c/body-parts.ts';
import { charging, dialogue, falling } from '../support/dialogue.ts';
import { brief, judged, ruleOf, safety } from '../support/judged.ts';

const protocols = ['din70121', 'iso15118-2'] as const;

describe.each(protocols)('%s', (protocol) => {
  const limited = (voltage_V: number, current_A: number) =>
    dialogue(protocol, {
      vehicleLimits: { voltage_V, current_A },
      chargerLimits: { voltage_V: 500, current_A: 200, power_W: 80_000 },
    })
      .handshake()
      .cableCheck()
      .preCharge()
      .start();
  const power = (current_A: number) =>
    limited(500, 400).demand({
      asks_A: current_A,
      delivers_A: current_A,
      voltage_V: 480,
      target_V: 480,
    });
  const lowered = () => limited(420, 180).demand({ seconds: 1, asks_A: 150 });
  const verdictAt = async (given: ReturnType<typeof limited>) =>
    ruleOf(await judged(given.stop().end()), 'within-limits').verdict;

  it("witness: 168 A although the vehicle's limit is 120 A", async () => {
    const given = limited(420, 120).demand({ asks_A: 120, delivers_A: 168 }).stop().end();
    const session = await judged(given);
    const [first] = safety(session);
    expect(first).toMatchObject({
      rule: 'within-limits',
      status: 'breach',
      owners: ['charger'],
      frame: frameOf(given.observations, 'CurrentDemandRes'),
      causedBy: null,
    });
    expect(first!.says).toContain("168 A although the vehicle's limit is 120 A");
    expect(first!.says).toContain(
      `(frame ${frameOf(given.observations, 'ChargeParameterDiscoveryReq')})`,
    );
    expect(session.verdict).toBe('broken');
    // That it is also more than asked follows from it.
    const demand = safety(session).find(({ rule }) => rule === 'follows-demand');
    expect(demand!.causedBy).toBe(first!.id);
  });

  it.each([
    // ±2.5 A for 40 A; 5 % of 120 A are 6 A.
    [40, 42.5, 'holds'],
    [40, 42.6, 'broken'],
    [120, 126, 'holds'],
    [120, 126.1, 'broken'],
  ])('a limit of %d A and %d A delivered: %s', async (current_A, delivers_A, verdict) => {
    const given = limited(420, current_A).demand({ asks_A: current_A, delivers_A });
    expect(await verdictAt(given)).toBe(verdict);
  });

  it("the charger's own current limit counts too", async () => {
    const given = limited(420, 400).demand({ asks_A: 300, delivers_A: 211 });
    const [first] = safety(await judged(given.stop().end()));
    expect(first!.says).toContain("the charger's limit is 200 A");
  });

  it.each([
    // 5 V of reporting error, then 5 % of 400 V: suspected up to 420 V.
    [400, 'holds'],
    [405, 'holds'],
    [405.1, 'suspected'],
    [420, 'suspected'],
    [420.1, 'broken'],
  ])('a limit of 400 V and %d V at the output: %s', async (voltage_V, verdict) => {
    const given = limited(400, 150).demand({ asks_A: 100, voltage_V, target_V: 420 });
    expect(await verdictAt(given)).toBe(verdict);
  });

  it('power: 80 kW and 5 % of it', async () => {
    expect(await verdictAt(power(170))).toBe('holds');
    const [first] = safety(await judged(power(180).stop().end()));
    expect(first).toMatchObject({ rule: 'within-limits', owners: ['charger'] });
    expect(first!.says).toContain('86.4 kW');
  });

  it('a limit lowered in CurrentDemandReq counts after 1 s and 100 A/s (6.4)', async () => {
    const more = { EVMaximumCurrentLimit: physical(60, 'A') };
    // 180 A still count for 1 s after the new limit, then fall by 100 A/s.
    const inTime = lowered().demand({
      seconds: 3,
      asks_A: 60,
      delivers_A: falling(150, 100, 1),
      more,
    });
    expect(await verdictAt(inTime)).toBe('holds');
    const never = lowered().demand({ seconds: 4, asks_A: 60, delivers_A: 150, more });
    expect(await verdictAt(never)).toBe('broken');
  });

  it('a raised limit counts at once', async () => {
    const more = { EVMaximumCurrentLimit: physical(200, 'A') };
    const given = limited(420, 100).demand({ seconds: 0.2, asks_A: 100 });
    expect(await verdictAt(given.demand({ seconds: 1, asks_A: 200, more }))).toBe('holds');
  });
});

describe('without limits in the recording', () => {
  it('nothing is judged and nothing is claimed', async () => {
    const joined = charging('iso15118-2').observations.slice(20);
    const session = await judged(joined);
    expect(brief(session)).toEqual([]);
    expect(ruleOf(session, 'within-limits').verdict).toBe('not observed');
  });
});
