// What a pilot recorder and an isolation monitor add to a capture, down to the verdict.
import { describe, expect, it } from 'vitest';
import type { Observation } from '../../src/trace/observation.ts';
import { beside, frameOf } from '../support/alter.ts';
import { dialogue, type Dialogue, type Seen } from '../support/dialogue.ts';
import { brief, judged, ruleOf, safety } from '../support/judged.ts';

const ISO = 'iso15118-2';

const toPower = (): Dialogue => dialogue(ISO).handshake().cableCheck().preCharge().start().demand();

/** Recorder observations, each after so many milliseconds. */
const at = (begin_s: number, ...seen: [after_ms: number, seen: Seen][]): Observation[] =>
  seen.map(([after_ms, one]) => {
    const at_ns = Math.round(begin_s * 1e9 + after_ms * 1e6);
    return { ...one, at_ns } as Observation;
  });

const current = (current_A: number): Seen => ({ kind: 'current', current_A });
const pilot = (voltage_V: number): Seen => ({ kind: 'pilot', voltage_V, duty_percent: 5 });

/**
 * In the middle of transfer the vehicle opens S2: the pilot rises from 6 to 9 V, through the band between. Nobody sends
 * anything more. 30 ms to come below 5 A: IEC 61851-23 Annex CC, loss of control pilot (from memory, low).
 */
async function leavesC(...after: [after_ms: number, seen: Seen][]) {
  const before = toPower();
  const left_s = before.now_s + 0.05;
  const seen = at(
    left_s,
    [-40, pilot(6.02)],
    [-30, current(180)],
    [-1, pilot(7.4)],
    [0, pilot(9.01)],
    ...after,
  );
  return judged(beside(before.wait(300).close('closed', 'charger').observations, ...seen));
}

describe('a pilot log in volts: C goes to B while power flows', () => {
  it('holds where the current is gone in 30 ms', async () => {
    const session = await leavesC([10, current(90)], [25, current(3)], [60, current(0)]);
    expect(brief(session)).toEqual([]);
    expect(ruleOf(session, 'stop-means-stop')).toMatchObject({
      verdict: 'holds',
      margin: { limit: 0.03, unit: 's' },
    });
  });

  it('is suspected where the current falls too late: 30 ms is a rough figure', async () => {
    const session = await leavesC([10, current(120)], [45, current(60)], [70, current(3)]);
    expect(brief(session)).toEqual(['stop-means-stop suspected charger null']);
    const [finding] = safety(session);
    expect(finding).toMatchObject({ confidence: 'from memory, low', evidence: 'measured' });
    expect(finding!.says).toContain('The pilot went to B');
  });

  it('is a breach where the current does not fall at all', async () => {
    const session = await leavesC([20, current(180)], [50, current(180)], [90, current(180)]);
    expect(brief(session)[0]).toBe('stop-means-stop breach charger null');
  });

  it('is no event while the pilot stays between C and B', async () => {
    const before = toPower();
    const seen = at(before.now_s, [10, pilot(6)], [20, pilot(7.5)], [30, pilot(7.9)]);
    const session = await judged(
      beside(before.demand().stop().weldingDetection().end().observations, ...seen),
    );
    expect([session.verdict, brief(session)]).toEqual(['holds', []]);
  });
});

// IEC 61851-1:2017 Table A.4 and A.6 (from memory): E and F, and C without oscillator, say that the charger gives no power.
describe("the charger's consent ends", () => {
  it.each<[string, Seen, because: string]>([
    ['E, by 0 V', { kind: 'pilot', voltage_V: 0 }, 'the pilot went to E'],
    ['F, by -12 V', { kind: 'pilot', voltage_V: -12 }, 'the pilot went to F'],
    [
      'C1, by a duty cycle of 100 %',
      { kind: 'pilot', voltage_V: 6, duty_percent: 100 },
      'it stopped the oscillator',
    ],
  ])('with the pilot in %s', async (_, seen, because) => {
    const before = toPower();
    const left_s = before.now_s;
    const all = beside(before.demand({ seconds: 3 }).observations, ...at(left_s, [10, seen]));
    const session = await judged(all);
    const finding = safety(session).find(({ rule }) => rule === 'both-consent');
    expect(finding?.says).toContain(`the charger had withdrawn its own, because ${because}`);
  });
});

const monitor = (resistance_ohm: number, ratedVoltage_V?: number): Seen =>
  ratedVoltage_V === undefined
    ? { kind: 'isolation', resistance_ohm }
    : { kind: 'isolation', resistance_ohm, ratedVoltage_V };

/** Both sides go on for three seconds after what the monitor saw. */
async function goesOn(...seen: Seen[]) {
  const before = toPower();
  const seen_s = before.now_s;
  const all = before.demand({ seconds: 3 }).stop().weldingDetection().end().observations;
  const readings = at(seen_s, ...seen.map((one): [number, Seen] => [10, one]));
  return judged(beside(all, ...readings));
}

describe('an isolation monitor', () => {
  // 500 V rated: a fault up to 50 kΩ (100 Ω/V, confirmed), a warning up to 250 kΩ (500 Ω/V, from memory).
  it('sees a fault, and both sides go on', async () => {
    const session = await goesOn(monitor(50e3, 500));
    const [first] = safety(session);
    expect(first).toMatchObject({ rule: 'stop-means-stop', owners: ['vehicle', 'charger'] });
    expect(first!.says).toContain('A meter saw an isolation fault');
    const onFault = safety(session).find(({ rule }) => rule === 'isolation-first');
    expect(onFault).toMatchObject({
      evidence: 'measured',
      confidence: 'from memory',
      causedBy: first!.id,
    });
  });

  it('sees a fault, and both sides stop at once', async () => {
    const before = toPower();
    const seen_s = before.now_s;
    const all = before
      .demand({ seconds: 0.4, asks_A: 0, delivers_A: (s) => (s < 0.1 ? 90 : 0) })
      .stop({ atOnce: true })
      .weldingDetection()
      .end().observations;
    // The monitor goes on telling it, also after the stop.
    const readings = at(seen_s, [10, monitor(40e3, 500)], [900, monitor(40e3, 500)]);
    const session = await judged(beside(all, ...readings));
    expect(brief(session)).toEqual([]);
    expect(ruleOf(session, 'stop-means-stop').verdict).toBe('holds');
  });

  it.each<[string, Seen]>([
    ['a warning', monitor(200e3, 500)],
    ['a good value', monitor(2e6, 500)],
    ['0 Ω of no known rated voltage', monitor(0)],
  ])('sees %s, with which power may go on', async (_, seen) => {
    const session = await goesOn(seen);
    expect([session.verdict, brief(session)]).toEqual(['holds', []]);
  });

  it('never stands in for the test of the session', async () => {
    const untested = dialogue(ISO).handshake();
    const tested_s = untested.now_s;
    const skips = untested.preCharge().start().demand().observations;
    const session = await judged(beside(skips, ...at(tested_s, [1, monitor(5e6, 500)])));
    const first = safety(session).find(({ rule }) => rule === 'isolation-first');
    expect(first?.frame).toBe(frameOf(skips, 'PreChargeReq'));
  });
});
