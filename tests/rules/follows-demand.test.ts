// follows-demand: no more than was asked within the last second, and down at 20 A/s at least (IEC 61851-23:2014,
// 101.2.1 and 6.4.3.101; worked rates of system C, 6.4: 200 to 5 A at 20 A/s take 9.75 s, 0 to 200 A take 10 s).
import { describe, expect, it } from 'vitest';
import { Ceiling } from '../../src/facts/ceiling.ts';
import { fall_s } from '../../src/facts/duty-table.ts';
import { frameOf } from '../support/alter.ts';
import { charging, dialogue, falling } from '../support/dialogue.ts';
import { brief, judged, ruleOf, safety } from '../support/judged.ts';

const protocols = ['din70121', 'iso15118-2'] as const;

describe.each(protocols)('%s', (protocol) => {
  const at = (asks_A: number, delivers_A: number) =>
    dialogue(protocol).handshake().cableCheck().preCharge().start().demand({ asks_A, delivers_A });

  it('witness: 20 A asked for two seconds, 120 A delivered', async () => {
    const given = charging(protocol, { seconds: 1 }).demand({
      seconds: 3,
      asks_A: 20,
      delivers_A: 178,
    });
    const session = await judged(given.stop().end());
    const [first] = safety(session);
    expect(first).toMatchObject({
      rule: 'follows-demand',
      status: 'breach',
      owners: ['charger'],
      causedBy: null,
    });
    // 180 A count for 1 s after the new request, then fall by 20 A/s: with 5 % of tolerance 178 A are too much from
    // 1.52 s on, and the first answer after that comes at 1.625 s.
    const asked_s = given.observations.find(
      ({ frame }) => frame === frameOf(given.observations, 'CurrentDemandReq', 5),
    )!;
    const since_s = first!.at - asked_s.at_ns / 1e9;
    expect(since_s).toBeCloseTo(1.625, 6);
    expect(first!.says).toContain('although the vehicle asked at most');
    expect(session.verdict).toBe('broken');
  });

  it.each([
    [40, 42.5, 'holds'],
    [40, 42.6, 'broken'],
    [50, 52.5, 'holds'],
    [50, 52.6, 'broken'],
    [100, 105, 'holds'],
    [100, 105.1, 'broken'],
  ])('%d A asked, %d A delivered: %s', async (asks_A, delivers_A, verdict) => {
    const session = await judged(at(asks_A, delivers_A).stop().end());
    expect(ruleOf(session, 'follows-demand').verdict).toBe(verdict);
  });

  it('a fall of 20 A within 1 s and 20 A/s from there is fast enough', async () => {
    const given = charging(protocol).demand({
      seconds: 6,
      asks_A: 80,
      delivers_A: falling(180, 20, 1),
    });
    expect(brief(await judged(given.stop().end()))).toEqual([]);
  });

  it('less than asked is no breach', async () => {
    expect(brief(await judged(at(200, 30).stop().end()))).toEqual([]);
  });

  it('a voltage beyond what was asked by more than 5 %', async () => {
    const given = charging(protocol).demand({ seconds: 2, target_V: 370, voltage_V: 390 });
    const [first] = safety(await judged(given.stop().end()));
    expect(first).toMatchObject({ rule: 'follows-demand', owners: ['charger'] });
    expect(first!.says).toContain('390 V');
    const within = charging(protocol).demand({ seconds: 2, target_V: 372, voltage_V: 390 });
    expect(brief(await judged(within.stop().end()))).toEqual([]);
  });

  it('an ammeter sees what the messages do not', async () => {
    const given = charging(protocol).ammeter(195).demand({ seconds: 0.4 });
    expect(safety(await judged(given.stop().end()))[0]).toMatchObject({
      rule: 'follows-demand',
      evidence: 'measured',
      frame: null,
    });
  });
});

/** When a request superseded at 0 stops allowing `value`, in seconds: 1 s of window, then the slope. */
function allowedUntil_s(from_A: number, slope_A_per_s: number, value_A: number): number {
  const ceiling = new Ceiling(1e9, slope_A_per_s, 500);
  ceiling.set(from_A, -1e9, null);
  ceiling.set(0, 0, null);
  let at_ms = 0;
  while (ceiling.allowed(at_ms * 1e6)!.value >= value_A) at_ms += 1;
  return (at_ms - 1) / 1000;
}

describe('worked rates of system C, 6.4 (derived)', () => {
  it.each([
    ['200 to 5 A at 100 A/s', 200, 5, 1.95],
    ['200 to 1 A at 100 A/s', 200, 1, 1.99],
    ['500 to 5 A at 100 A/s', 500, 5, 4.95],
  ])('%s', (_what, from_A, to_A, takes_s) => {
    expect(fall_s(from_A) - fall_s(to_A)).toBeCloseTo(takes_s, 9);
    expect(allowedUntil_s(from_A, 100, to_A)).toBeCloseTo(1 + takes_s, 3);
  });

  it('0 to 200 A at 20 A/s take 10 s: as long as 200 A may take to fall', () => {
    expect(allowedUntil_s(200, 20, 0.001)).toBeCloseTo(11, 2);
  });
});
