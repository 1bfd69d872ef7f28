// silence-is-no: a peer silent past its timeout has withdrawn its consent, and the other acts on it. Timeouts: ISO
// 15118-2 8.7, Table 109 and DIN SPEC 70121 9.6 (from memory). A recorder stands beside the vehicle: 50 ms of doubt.
// While current flows the bound for the vehicle's silence is 1 s (project parameter; system C, 10.2).
import { describe, expect, it } from 'vitest';
import { delay, drop, frameOf, gapAt, insert, placeOf } from '../support/alter.ts';
import { charging, cleanDialogue, dialogue } from '../support/dialogue.ts';
import { brief, judged, ruleOf, safety } from '../support/judged.ts';

const protocols = ['din70121', 'iso15118-2'] as const;

describe.each(protocols)('%s: the charger silent', (protocol) => {
  /** The answer to the fourth CurrentDemandReq never comes; the next request follows `after_ms` after it. */
  function unanswered(after_ms: number) {
    const clean = cleanDialogue(protocol).observations;
    const place = placeOf(clean, 'CurrentDemandRes', 3);
    return drop(delay(clean, place + 1, after_ms - 200), place);
  }

  it('witness: the next CurrentDemandReq 1.4 s after an unanswered one', async () => {
    const observations = unanswered(1400);
    const session = await judged(observations);
    const [first] = safety(session);
    expect(first).toMatchObject({
      rule: 'silence-is-no',
      status: 'breach',
      owners: ['vehicle'],
      frame: frameOf(observations, 'CurrentDemandReq', 4),
      causedBy: null,
    });
    const asked = frameOf(observations, 'CurrentDemandReq', 3);
    expect(first!.deadline!.armedFrame).toBe(asked);
    // 0.25 s after the request.
    expect(first!.at - first!.deadline!.due_s).toBeCloseTo(1.4 - 0.25, 6);
    expect(first!.says).toContain('had no answer for 1.4 s, 0.25 s is allowed');
    expect(session.verdict).toBe('broken');
  });

  it.each([
    [300, []],
    [301, ['silence-is-no']],
  ])('the next request %d ms later', async (after_ms, rules) => {
    expect(safety(await judged(unanswered(after_ms))).map(({ rule }) => rule)).toEqual(rules);
  });

  it('the vehicle stops instead: no breach', async () => {
    const given = charging(protocol).wait(200).request('CurrentDemand', {}).wait(1000).ammeter(0);
    expect(brief(await judged(given.close()))).toEqual([]);
  });

  it('an answer between 0.25 s and 1 s is a matter of performance, not of safety', async () => {
    const clean = cleanDialogue(protocol).observations;
    const place = placeOf(clean, 'CurrentDemandRes', 3);
    const session = await judged(delay(clean, place, 600));
    expect(safety(session)).toEqual([]);
    expect(session.findings.map(({ rule }) => rule)).toEqual(['in-time']);
    expect(session.findings[0]!.deadline!.armedFrame).toBe(frameOf(clean, 'CurrentDemandReq', 3));
    expect(session.verdict).toBe('holds');
  });

  it('an answer after more than 1 s is too late, and the vehicle goes on', async () => {
    const clean = cleanDialogue(protocol).observations;
    const place = placeOf(clean, 'CurrentDemandRes', 3);
    const found = safety(await judged(delay(clean, place, 1200)));
    expect(found[0]).toMatchObject({ rule: 'silence-is-no', owners: ['vehicle'] });
    expect(found[0]!.says).toContain('was answered only after');
  });

  it('PreCharge may take 2 s', async () => {
    const clean = cleanDialogue(protocol).observations;
    const place = placeOf(clean, 'PreChargeRes', 1);
    expect(brief(await judged(delay(clean, place, 1950)))).toEqual([]);
    const late = await judged(delay(clean, place, 2100));
    expect(safety(late)[0]).toMatchObject({ rule: 'silence-is-no', owners: ['vehicle'] });
  });

  it('silence at set-up withdraws nothing yet', async () => {
    const clean = cleanDialogue(protocol).observations;
    const place = placeOf(clean, 'ServiceDiscoveryRes');
    expect(brief(await judged(delay(clean, place, 2500)))).toEqual([]);
  });
});

describe.each(protocols)('%s: the vehicle silent', (protocol) => {
  it('while the charger keeps the current flowing', async () => {
    const given = charging(protocol);
    for (let turn = 0; turn < 8; turn += 1) given.wait(200).ammeter(180);
    const session = await judged(given.close());
    expect(safety(session)[0]).toMatchObject({
      rule: 'silence-is-no',
      status: 'breach',
      owners: ['charger'],
      evidence: 'measured',
      confidence: 'project default',
    });
    expect(safety(session)[0]!.says).toContain('kept 180 A flowing; 1 s is allowed');
  });

  it('while a current that began after its last message flows on', async () => {
    const given = dialogue(protocol).handshake().cableCheck().preCharge().start().ammeter(0);
    given.demand({ seconds: 0.2, asks_A: 180, delivers_A: 0 }).ammeter(180);
    const found = safety(await judged(given.wait(1100).ammeter(180).close()));
    expect(found[0]).toMatchObject({ rule: 'silence-is-no', owners: ['charger'] });
  });

  it('for 0.9 s: no breach', async () => {
    const given = charging(protocol).wait(700).ammeter(180).demand({ seconds: 1 });
    expect(brief(await judged(given.stop().end()))).toEqual([]);
  });

  it('and the current gone: no breach, however long', async () => {
    const given = charging(protocol).wait(800).ammeter(0).wait(30_000).ammeter(0).close();
    expect(brief(await judged(given))).toEqual([]);
  });

  it('without a current: the vehicle may take 40 s for its next request (4.4)', async () => {
    const given = dialogue(protocol).handshake().wait(30_000).cableCheck().preCharge().start();
    const session = await judged(given.demand().stop().end());
    expect([session.verdict, brief(session)]).toEqual(['holds', []]);
  });
});

describe('nobody is blamed', () => {
  it('for what a gap swallowed', async () => {
    const clean = cleanDialogue('iso15118-2').observations;
    const place = placeOf(clean, 'CurrentDemandRes', 3);
    const late = delay(clean, place + 1, 1400);
    const session = await judged(insert(drop(late, place), place, gapAt(clean[place]!.at_ns)));
    expect(brief(session)).toEqual([]);
    expect(session.verdict).toBe('inconclusive');
  });

  it('when the recording ends in the silence', async () => {
    const given = charging('iso15118-2').wait(200).request('CurrentDemand', {});
    expect(brief(await judged(given))).toEqual([]);
  });
});

describe('margin', () => {
  it('is the longest wait for an answer, against its timeout', async () => {
    const clean = cleanDialogue('iso15118-2').observations;
    const place = placeOf(clean, 'CurrentDemandRes', 3);
    const session = await judged(delay(clean, place, 150));
    expect(ruleOf(session, 'silence-is-no').margin).toMatchObject({
      value: 0.175,
      limit: 0.25,
      unit: 's',
      frame: frameOf(clean, 'CurrentDemandRes', 3),
    });
  });
});
