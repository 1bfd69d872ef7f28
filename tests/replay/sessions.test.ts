// A recording cut into sessions: one handshake on one connection to its close (design: Sessions). Matching belongs to
// a session by address and time; what other recorders saw belongs to the session it overlaps.
import { describe, expect, it } from 'vitest';
import type { Observation } from '../../src/trace/observation.ts';
import { mergeTraces } from '../../src/trace/merge.ts';
import { replayTrace } from '../../src/replay/replay.ts';
import { beside, messageAt, placesOf } from '../support/alter.ts';
import { charging, cleanDialogue, dialogue, type DialogueOptions } from '../support/dialogue.ts';
import { brief, judged, replay, ruleOf, safety, traceOf } from '../support/judged.ts';

const PROTOCOL = 'iso15118-2';
const full = (options: DialogueOptions) => cleanDialogue(PROTOCOL, options);

/** A second session after a first one, `after_s` later. */
function following(first: ReturnType<typeof full>, after_s: number, options: DialogueOptions = {}) {
  return full({ start_s: first.now_s + after_s, firstFrame: first.nextFrame, ...options });
}

describe('sessions', () => {
  it('two connections one after the other are two sessions', async () => {
    const first = full({});
    const second = following(first, 30, { link: 'tcp:2', sessionId: 'BB00000000000002' });
    const { sessions } = await replay([...first.observations, ...second.observations]);
    expect(sessions.map(({ id, verdict }) => [id, verdict])).toEqual([
      ['S1', 'holds'],
      ['S2', 'holds'],
    ]);
    expect(sessions[0]!.to).toBeLessThan(sessions[1]!.from);
  });

  it('two chargers at once are two sessions, each judged by itself', async () => {
    const good = full({});
    const bad = dialogue(PROTOCOL, {
      link: 'tcp:2',
      sessionId: 'BB00000000000002',
      start_s: 0.05,
      firstFrame: 500,
      vehicleAddress: '02:00:00:00:00:02',
      chargerAddress: '02:00:00:00:01:02',
    });
    bad.handshake().cableCheck({ finish: false }).preCharge().start().demand().stop().end();
    const { sessions } = await replay(beside(good.observations, ...bad.observations));
    const verdicts = Object.fromEntries(sessions.map(({ vehicle, verdict }) => [vehicle, verdict]));
    expect(verdicts).toEqual({ '02:00:00:00:00:01': 'holds', '02:00:00:00:00:02': 'broken' });
  });

  it('a new handshake on the same connection begins a new session: no consent goes over', async () => {
    const first = charging(PROTOCOL).stop().sessionStop();
    const again = dialogue(PROTOCOL, { start_s: first.now_s + 1, firstFrame: first.nextFrame });
    again.handshake().start().demand({ seconds: 0.4 }).close();
    // The link was not opened again: only the handshake tells.
    const observations = [...first.observations, ...again.observations.slice(1)];
    const { sessions } = await replay(observations);
    expect(sessions.map(({ verdict }) => verdict)).toEqual(['holds', 'broken']);
    expect(safety(sessions[1]!)[0]).toMatchObject({ rule: 'isolation-first' });
  });

  it('a port used again begins a new session', async () => {
    const first = full({});
    const second = following(first, 5, { sessionId: 'BB00000000000002' });
    const { sessions } = await replay([...first.observations, ...second.observations]);
    expect(sessions.map(({ verdict }) => verdict)).toEqual(['holds', 'holds']);
    expect(sessions[1]!.summary.seenFromStart).toBe(true);
  });

  it('a paused session joined again keeps its id and starts anew (ISO 15118-2)', async () => {
    const first = charging(PROTOCOL).stop().weldingDetection().end('Pause');
    const second = following(first, 600, { link: 'tcp:2' });
    const setUp = placesOf(second.observations, 'SessionSetupRes')[0]!;
    const answer = messageAt(second.observations, setUp);
    const joined = second.observations.with(setUp, {
      ...answer,
      message: { ...answer.message, ResponseCode: 'OK_OldSessionJoined' },
    });
    const { sessions } = await replay([...first.observations, ...joined]);
    expect(sessions.map(({ verdict }) => verdict)).toEqual(['holds', 'holds']);
    expect(sessions[0]!.summary.ended.how).toContain('session paused');
  });

  it('a trace that names no connection is one session', async () => {
    const session = await judged(
      full({ unlinked: true }).observations.filter(({ kind }) => kind === 'message'),
    );
    expect([session.verdict, session.protocol]).toEqual(['holds', PROTOCOL]);
    expect(session.vehicle).toBeNull();
  });

  it('the file takes the worst verdict of its sessions', async () => {
    const good = full({});
    const bad = dialogue(PROTOCOL, { start_s: 100, firstFrame: 900, link: 'tcp:2' });
    bad
      .handshake()
      .cableCheck()
      .preCharge({ reports_V: [200] })
      .start()
      .demand()
      .stop()
      .end();
    const file = await replay([...good.observations, ...bad.observations]);
    expect([file.verdict, ...file.sessions.map(({ verdict }) => verdict)]).toEqual([
      'broken',
      'holds',
      'broken',
    ]);
  });
});

describe('matching (SLAC, ISO 15118-3 Annex A)', () => {
  it('is claimed by the session of its vehicle, and begins it', async () => {
    const session = await judged(dialogue(PROTOCOL).matching().handshake().end());
    expect(session.summary.matching).toEqual({
      runId: '0102030405060708',
      from: 0,
      to: 0.75,
      matched: true,
    });
    expect(session.from).toBe(0);
  });

  it("a neighbour's broadcasts are not claimed, and hold nothing up", async () => {
    const own = dialogue(PROTOCOL).matching().handshake().end();
    const neighbour: Observation = {
      kind: 'message',
      from: 'vehicle',
      name: 'CM_SLAC_PARM.REQ',
      message: { RunID: 'FFFFFFFFFFFFFFFF' },
      protocol: 'slac',
      sender: '02:00:00:00:00:77',
      receiver: 'ff:ff:ff:ff:ff:ff',
      at_ns: 3e8,
      frame: 900,
    };
    const session = await judged(beside(own.observations, neighbour));
    expect(session.summary.matching).toMatchObject({ runId: '0102030405060708', matched: true });
    expect(session.verdict).toBe('holds');
  });

  it('of another vehicle alone is not taken for this one when two are near', async () => {
    const two = ['02:00:00:00:00:77', '02:00:00:00:00:78'].map(
      (vehicleAddress) => dialogue(PROTOCOL, { vehicleAddress }).matching().observations,
    );
    const session = await judged(
      beside(two.flat(), ...dialogue(PROTOCOL, { start_s: 4 }).handshake().end().observations),
    );
    expect(session.summary.matching).toBeNull();
  });

  it('from long before is another plug-in', async () => {
    const old = dialogue(PROTOCOL).matching().observations;
    const session = await judged([
      ...old,
      ...dialogue(PROTOCOL, { start_s: 90 }).handshake().end().observations,
    ]);
    expect(session.summary.matching).toBeNull();
  });

  it('that no session followed is told', async () => {
    const file = await replay(dialogue(PROTOCOL).matching().observations);
    expect(file.reasons).toContain('SLAC matching was seen, but no session followed it');
    expect(file.verdict).toBe('inconclusive');
  });
});

const meter = (at_ns: number, current_A: number): Observation => ({
  kind: 'current',
  at_ns,
  current_A,
});

describe('other recorders', () => {
  it('a meter merged with an offset brings the breach the messages hide', async () => {
    const given = charging(PROTOCOL).stop({ atOnce: true }).end();
    const stop_s = given.now_s;
    // The meter's clock runs 2 s behind: what it calls t happened at t + 2 s.
    const samples = Array.from({ length: 20 }, (_, i) =>
      meter(Math.round((stop_s - 2.1 + i * 0.1) * 1e9), 180),
    );
    const other = { trace: traceOf(samples), offset_ns: 2e9, recorder: 'meter' };
    const merged = mergeTraces(traceOf(given.observations), [other]);
    const options = { machines: {}, strict: false, crashDeadline_ms: 100 };
    const file = await replayTrace(merged, 'merged', options);
    expect(file.sessions).toHaveLength(1);
    expect(safety(file.sessions[0]!)[0]).toMatchObject({
      rule: 'stop-means-stop',
      owners: ['charger'],
      evidence: 'measured',
      frame: null,
    });
    expect(brief(await judged(given))).toEqual([]);
  });

  it('what stood before the session is where it starts', async () => {
    const before: Observation[] = [{ kind: 'lock', state: 'locked', at_ns: 0 }];
    const given = dialogue(PROTOCOL, { start_s: 5 }).handshake().cableCheck().preCharge().start();
    given.demand().stop().weldingDetection().end().wait(500).lock('unlocked');
    const session = await judged([...before, ...given.observations]);
    expect(ruleOf(session, 'cold-unlock').verdict).toBe('holds');
  });

  it('where two sessions run at once, nothing is guessed, and the file says so', async () => {
    const one = full({});
    const other = full({
      link: 'tcp:2',
      start_s: 0.05,
      firstFrame: 500,
      vehicleAddress: '02:00:00:00:00:02',
    });
    const both = beside(one.observations, ...other.observations, meter(1e9, 20));
    const file = await replay(both);
    expect(file.sessions.map(({ verdict }) => verdict)).toEqual(['holds', 'holds']);
    expect(file.reasons.join(' ')).toContain('1 observations of other recorders');
    expect(file.verdict).toBe('inconclusive');
  });
});
