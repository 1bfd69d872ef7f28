// P1 to P9 of system C, section 10 (derived from its tables), as far as a trace can show them: each with the
// observation it needs. P2, P3 and P9 are also in isolation-first, both-consent and the consent table.
import { describe, expect, it } from 'vitest';
import { delay, placeOf, setSession, insert } from '../support/alter.ts';
import { charging, cleanDialogue, dialogue } from '../support/dialogue.ts';
import { brief, judged, replay, ruleOf, safety } from '../support/judged.ts';

const rulesOf = async (given: Parameters<typeof judged>[0]) => [
  ...new Set(safety(await judged(given)).map(({ rule }) => rule)),
];

const locked = () => charging('din70121').lock('locked').stop().wait(1500);

describe('needs a voltage meter', () => {
  it('P1: more than 60 V at the output implies a CableCheckReq in this session', async () => {
    const given = dialogue('din70121').handshake().meter('output', 61).end();
    expect(await rulesOf(given)).toEqual(['both-consent']);
    expect(await rulesOf(dialogue('din70121').handshake().meter('output', 60).end())).toEqual([]);
  });

  it('P6: no unlock while either side measures more than 60 V (and a lock record)', async () => {
    for (const place of ['inlet', 'output'] as const) {
      const live = locked().meter(place, 61).lock('unlocked').end();
      expect(await rulesOf(live)).toContain('cold-unlock');
      const safe = locked().meter(place, 60).lock('unlocked').end();
      expect(await rulesOf(safe)).toEqual([]);
    }
  });
});

describe('needs the messages alone', () => {
  it('P2: closed contactors imply a finished test and less than 20 V', async () => {
    const untested = dialogue('iso15118-2').handshake().cableCheck({ finish: false }).preCharge();
    expect(await rulesOf(untested.start().demand().stop().end())).toContain('isolation-first');
    const far = dialogue('iso15118-2')
      .handshake()
      .cableCheck()
      .preCharge({ reports_V: [320] });
    expect(await rulesOf(far.start().demand().stop().end())).toEqual(['gate-before-close']);
  });

  it('P3: more than the pre-charge limit implies a start answered OK', async () => {
    const refused = dialogue('iso15118-2').handshake().cableCheck().preCharge();
    refused.start({ charger: { code: 'FAILED' } }).demand({ seconds: 0.4, asks_A: 30 });
    expect(await rulesOf(refused.close())).toContain('both-consent');
  });

  it('P7: an answer is never accepted after its timeout: going on after it is the breach', async () => {
    const clean = cleanDialogue('iso15118-2').observations;
    const late = delay(clean, placeOf(clean, 'PreChargeRes'), 2200);
    const session = await judged(late);
    expect(safety(session)[0]).toMatchObject({ rule: 'silence-is-no', owners: ['vehicle'] });
  });

  it('P8: a foreign SessionID never advances either side', async () => {
    const clean = cleanDialogue('iso15118-2').observations;
    const foreign = setSession(clean, placeOf(clean, 'PreChargeReq'), 'FFFFFFFFFFFFFFFF');
    expect((await rulesOf(foreign))[0]).toBe('fresh-consent');
  });

  it('P9: after an emergency only a new session leads back to power', async () => {
    const again = charging('iso15118-2').demand({
      seconds: 0.2,
      charger: { status: 'EVSE_EmergencyShutdown' },
      delivers_A: 100,
    });
    again.ammeter(0).stop({ atOnce: true }).wait(2000).cableCheck().preCharge().start().demand();
    const session = await judged(again.stop().end());
    expect(ruleOf(session, 'both-consent').verdict).toBe('broken');
  });
});

describe('needs a pilot record', () => {
  it('P4: after C to B the current falls, and no later message may raise it', async () => {
    const given = charging('iso15118-2').pilot('B').wait(25).ammeter(4).wait(1000);
    expect(await rulesOf(given.demand({ seconds: 1, asks_A: 100 }).close())).toContain(
      'both-consent',
    );
  });

  it('P5: state B before WeldingDetection is the charger’s to check: a trace that stays in C is still no safety breach', async () => {
    const given = dialogue('din70121').handshake().pilot('C').cableCheck().preCharge().start();
    const session = await judged(given.demand().stop().weldingDetection().end());
    expect(brief(session)).toEqual([]);
  });
});

describe('needs two sessions on one link', () => {
  it('P8: a consent of the session before counts for nothing in the next', async () => {
    const first = cleanDialogue('din70121');
    const second = dialogue('din70121', {
      sessionId: '00000000000000AB',
      start_s: first.now_s + 1,
      firstFrame: first.nextFrame,
    });
    second.handshake().start().demand({ seconds: 0.4, asks_A: 50 }).close();
    const observations = insert(second.observations, 0, ...first.observations);
    const { sessions } = await replay(observations);
    expect(sessions[0]!.verdict).toBe('holds');
    expect(safety(sessions[1]!)[0]).toMatchObject({ rule: 'isolation-first', owners: ['vehicle'] });
  });
});
