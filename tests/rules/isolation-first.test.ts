// isolation-first: no approach and no power before this session's test ended valid or with a warning, none after a
// fault (ISO 15118-2 V2G2-584, -621; DIN SPEC 70121 9.7; P2 of system C, 10).
import { describe, expect, it } from 'vitest';
import { drop, frameOf, placesOf, setField } from '../support/alter.ts';
import { cleanDialogue, dialogue } from '../support/dialogue.ts';
import { brief, judged, ruleOf, safety } from '../support/judged.ts';

const protocols = ['din70121', 'iso15118-2'] as const;
const unit = { DC_EVStatus: { EVReady: true, EVErrorCode: 'NO_ERROR', EVRESSSOC: 24 } };

describe.each(protocols)('%s', (protocol) => {
  const start = () => dialogue(protocol).handshake();
  const finish = (given: ReturnType<typeof start>) =>
    given.preCharge().start().demand().stop().end();

  it('witness: PreChargeReq follows a CableCheckRes that said Ongoing', async () => {
    const given = finish(start().cableCheck({ finish: false }));
    const session = await judged(given);
    const [first] = safety(session);
    expect(first).toMatchObject({
      rule: 'isolation-first',
      status: 'breach',
      owners: ['vehicle'],
      frame: frameOf(given.observations, 'PreChargeReq'),
      causedBy: null,
    });
    expect(first!.says).toContain('isolation test was still running');
    // The charger answers OK to it: its own breach, and it follows from the first.
    const second = safety(session).find(({ owners }) => owners.includes('charger'));
    expect(second).toMatchObject({ rule: 'isolation-first', causedBy: first!.id });
    expect(session.verdict).toBe('broken');
  });

  it('no test at all', async () => {
    const clean = cleanDialogue(protocol).observations;
    const skipped = drop(
      clean,
      ...placesOf(clean, 'CableCheckReq'),
      ...placesOf(clean, 'CableCheckRes'),
    );
    const [first] = safety(await judged(skipped));
    expect(first).toMatchObject({
      rule: 'isolation-first',
      owners: ['vehicle'],
      frame: frameOf(skipped, 'PreChargeReq'),
    });
    expect(first!.says).toContain('never began');
  });

  it.each(protocol === 'din70121' ? ['Invalid', 'Fault'] : ['Invalid', 'Fault', 'No_IMD'])(
    'Finished with %s is no passed test',
    async (isolation) => {
      const session = await judged(finish(start().cableCheck({ charger: { isolation } })));
      expect(safety(session)[0]).toMatchObject({ rule: 'isolation-first', owners: ['vehicle'] });
      expect(session.verdict).toBe('broken');
    },
  );

  it('Finished but FAILED is no passed test', async () => {
    const session = await judged(finish(start().cableCheck({ charger: { code: 'FAILED' } })));
    expect(safety(session)[0]).toMatchObject({ rule: 'isolation-first', owners: ['vehicle'] });
  });

  it('Warning lets power flow (IEC 61851-23, Annex CC: transfer may go on, the warning is reported)', async () => {
    const warning = { charger: { isolation: 'Warning' } };
    const given = start().cableCheck(warning).preCharge(warning).start(warning).demand(warning);
    const session = await judged(given.stop().end());
    expect([session.verdict, brief(session)]).toEqual(['holds', []]);
  });

  it('a status elsewhere may lower it: PreChargeRes with Fault ends the approach', async () => {
    const fault = { charger: { isolation: 'Fault' } };
    const given = start()
      .cableCheck()
      .preCharge({ reports_V: [100, 350], ...fault });
    const session = await judged(given.start().demand().stop().end());
    const found = safety(session).filter(({ rule }) => rule === 'isolation-first');
    expect(found.map(({ owners }) => owners[0])).toContain('vehicle');
  });

  it('a status elsewhere never raises it: Valid in PreChargeRes after an unfinished test', async () => {
    const session = await judged(finish(start().cableCheck({ finish: false })));
    expect(ruleOf(session, 'isolation-first').verdict).toBe('broken');
  });

  it('a FAILED test that the vehicle obeys holds, without energy', async () => {
    const failed = { code: 'FAILED', isolation: 'Fault' };
    const session = await judged(start().cableCheck({ charger: failed }).close());
    expect([session.verdict, brief(session)]).toEqual(['holds', []]);
  });

  it('isolation lost during transfer and obeyed is no breach of this rule', async () => {
    const given = start().cableCheck().preCharge().start().demand();
    given.demand({ seconds: 0.2, delivers_A: 100, charger: { isolation: 'Fault' } });
    given.stop({ atOnce: true }).ammeter(0).end();
    expect(brief(await judged(given))).toEqual([]);
  });

  it('isolation lost during transfer and ignored: the stop first, this follows from it', async () => {
    const given = start().cableCheck().preCharge().start().demand();
    given.demand({ seconds: 3, charger: { isolation: 'Fault' } });
    const found = brief(await judged(given.stop().end()));
    expect(found[0]).toMatch(/^stop-means-stop breach vehicle\+charger/);
    const own = found.filter((one) => one.startsWith('isolation-first'));
    expect(own.length).toBeGreaterThan(0);
    for (const one of own) expect(one).toMatch(/<- stop-means-stop$/);
  });

  it('a test repeated after a renegotiation counts anew', async () => {
    if (protocol === 'din70121') return;
    const given = start().cableCheck().preCharge().start().demand().rampDown().renegotiate();
    given.parameters().cableCheck({ finish: false }).preCharge();
    const [first] = safety(await judged(given.end()));
    expect(first).toMatchObject({ rule: 'isolation-first', owners: ['vehicle'] });
  });
});

describe('an absent status', () => {
  it('leaves isolation unknown: not observed, and the session inconclusive with the reason', async () => {
    const clean = cleanDialogue('din70121').observations;
    const last = placesOf(clean, 'CableCheckRes').at(-1)!;
    const session = await judged(
      setField(clean, last, 'DC_EVSEStatus.EVSEIsolationStatus', undefined),
    );
    expect(safety(session)).toEqual([]);
    expect(ruleOf(session, 'isolation-first').verdict).toBe('not observed');
    expect(ruleOf(session, 'isolation-first').reason).toContain('EVSEIsolationStatus');
    expect(session.verdict).toBe('inconclusive');
    expect(session.reasons.join(' ')).toContain('isolation-first');
  });

  it('of EVSEProcessing is no finished test', async () => {
    const clean = cleanDialogue('iso15118-2').observations;
    const last = placesOf(clean, 'CableCheckRes').at(-1)!;
    const session = await judged(setField(clean, last, 'EVSEProcessing', undefined));
    expect(session.verdict).not.toBe('holds');
  });
});

describe('joined', () => {
  it('after the test: inconclusive, with reasons, and no breach', async () => {
    const given = cleanDialogue('iso15118-2').observations;
    const session = await judged(given.slice(placesOf(given, 'PreChargeReq')[0]));
    expect(safety(session)).toEqual([]);
    expect(session.verdict).toBe('inconclusive');
    expect(session.reasons).toContain('the recording joined the session after its start');
    expect(session.reasons.join(' ')).toContain('isolation-first not observed');
  });

  it('before the test: it can hold, because the three decisive rules were decided', async () => {
    const given = cleanDialogue('iso15118-2').observations;
    const session = await judged(given.slice(placesOf(given, 'CableCheckReq')[0]));
    expect([session.verdict, safety(session), session.reasons]).toEqual(['holds', [], []]);
  });

  it('during transfer, with a request nobody answered: still no breach of this rule', async () => {
    const given = dialogue('iso15118-2').request('CurrentDemand', unit);
    const session = await judged(given);
    expect(ruleOf(session, 'isolation-first').verdict).toBe('not observed');
  });
});
