// welded-told: voltage that stays at the inlet after opening is reported, and nothing is energised on it again (IEC
// 61851-23 Annex CC, welding detection: below 60 V; the charger has 1 s to discharge its output).
import { describe, expect, it } from 'vitest';
import { frameOf } from '../support/alter.ts';
import { charging, dialogue } from '../support/dialogue.ts';
import { brief, judged, replay, ruleOf, safety } from '../support/judged.ts';

const protocols = ['din70121', 'iso15118-2'] as const;
const stays_V = [362, 361, 360, 360];

describe.each(protocols)('%s', (protocol) => {
  const stopped = () => charging(protocol).stop();

  it('witness: 360 V four times, then SessionStopReq with NO_ERROR', async () => {
    const given = stopped().weldingDetection(stays_V).end();
    const session = await judged(given);
    expect(brief(session)).toEqual([
      `welded-told breach vehicle ${frameOf(given.observations, 'SessionStopReq')}`,
    ]);
    expect(safety(session)[0]!.says).toContain('the inlet stayed at 360 V');
    expect(session.verdict).toBe('broken');
  });

  it('told by the vehicle with an error code: no breach', async () => {
    const given = stopped().weldingDetection(stays_V.slice(0, 3));
    given.weldingDetection([360], { vehicle: { error: 'FAILED_EVRESSMalfunction' } });
    expect(brief(await judged(given.end()))).toEqual([]);
  });

  it('told by an alarm: no breach', async () => {
    const given = stopped().weldingDetection(stays_V).alarm('vehicle', 'fault');
    expect(brief(await judged(given.end()))).toEqual([]);
  });

  it.each([
    ['at most 60 V', [200, 60]],
    ['below at once', [5]],
    ['falling slowly, but falling', [300, 200, 100, 59]],
  ])('%s: no breach', async (_what, reports_V) => {
    const session = await judged(stopped().weldingDetection(reports_V).end());
    expect(brief(session)).toEqual([]);
    expect(ruleOf(session, 'welded-told').verdict).toBe('holds');
  });

  it('ended while still falling: not observed', async () => {
    const session = await judged(stopped().weldingDetection([300, 200]).end());
    expect(brief(session)).toEqual([]);
    expect(ruleOf(session, 'welded-told').verdict).toBe('not observed');
  });

  it('one report 130 ms after the stop says nothing yet', async () => {
    const given = stopped().weldingDetection([360], { pause_ms: 60 }).end();
    expect(ruleOf(await judged(given), 'welded-told').verdict).not.toBe('broken');
  });

  it('the next session of the same vehicle energises on it', async () => {
    const first = stopped().weldingDetection(stays_V).end();
    const options = { link: 'tcp:2', sessionId: 'BBBB000000000001' };
    const second = dialogue(protocol, {
      ...options,
      start_s: first.now_s + 60,
      firstFrame: first.nextFrame,
    });
    second.handshake().cableCheck().preCharge().start().demand().stop().weldingDetection().end();
    const { sessions } = await replay([...first.observations, ...second.observations]);
    expect(sessions).toHaveLength(2);
    expect(brief(sessions[1]!)[0]).toMatch(/^welded-told breach vehicle/);
    expect(safety(sessions[1]!)[0]!.says).toContain('asked for power again');
  });

  it('the next session of another vehicle is its own', async () => {
    const first = stopped().weldingDetection(stays_V).end();
    const options = {
      link: 'tcp:2',
      vehicleAddress: '02:00:00:00:00:09',
      start_s: first.now_s + 60,
    };
    const second = dialogue(protocol, { ...options, firstFrame: first.nextFrame });
    second.handshake().cableCheck().preCharge().start().demand().stop().weldingDetection().end();
    const { sessions } = await replay([...first.observations, ...second.observations]);
    expect(sessions.map(({ verdict }) => verdict)).toEqual(['broken', 'holds']);
  });
});
