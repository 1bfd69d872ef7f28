// What a recording does not hold: never a breach, never a clean bill (design: three values; Sessions).
import { describe, expect, it } from 'vitest';
import type { Observation } from '../../src/trace/observation.ts';
import { delay, drop, gapAt, insert, placeOf, placesOf, setField } from '../support/alter.ts';
import { charging, cleanDialogue, dialogue } from '../support/dialogue.ts';
import { brief, judged, replay, ruleOf, safety } from '../support/judged.ts';

const protocols = ['din70121', 'iso15118-2'] as const;
const note = (at_ns: number, problem: 'clock' | 'damaged' | 'cut'): Observation => ({
  kind: 'note',
  problem,
  at_ns,
  says: `the recording is ${problem}`,
});

describe.each(protocols)('%s: a gap', (protocol) => {
  const clean = cleanDialogue(protocol).observations;

  it.each([
    'CableCheckRes',
    'PreChargeRes',
    'PowerDeliveryReq',
    'CurrentDemandRes',
    'WeldingDetectionRes',
  ])('instead of a %s: inconclusive, the gap among the reasons', async (name) => {
    const place = placeOf(clean, name);
    const session = await judged(insert(drop(clean, place), place, gapAt(clean[place]!.at_ns)));
    expect(safety(session)).toEqual([]);
    expect(session.verdict).toBe('inconclusive');
    expect(session.reasons).toContain('40 bytes are missing');
  });

  it('over a stop: nobody is accused of what went on unseen', async () => {
    const given = charging(protocol).demand({
      seconds: 0.2,
      charger: { status: 'EVSE_EmergencyShutdown' },
    });
    given.gap().demand({ seconds: 0.2 }).stop({ atOnce: true }).end();
    const session = await judged(given);
    expect(brief(session)).toEqual([]);
    expect(session.verdict).toBe('inconclusive');
  });

  it('may have hidden that a stop notice was taken back', async () => {
    const notice = { notification: 'StopCharging', delay_s: 1 } as const;
    const given = charging(protocol).demand({ seconds: 0.2, charger: notice }).gap();
    let observations = given.demand({ seconds: 4 }).stop().end().observations;
    for (const place of placesOf(observations, 'CurrentDemandRes').slice(6)) {
      observations = setField(observations, place, 'DC_EVSEStatus.EVSENotification', undefined);
    }
    expect(brief(await judged(observations))).toEqual([]);
  });

  it('leaves open whether pilot B withdrew anything: consents may follow it', async () => {
    const given = dialogue(protocol).handshake().gap().pilot('B').wait(100).pilot('C');
    given.cableCheck().preCharge().start().demand().stop().end();
    const session = await judged(given);
    expect(brief(session)).toEqual([]);
    expect(ruleOf(session, 'both-consent').verdict).toBe('holds');
  });

  it('does not excuse what is plain after it', async () => {
    const given = charging(protocol)
      .gap()
      .demand({ seconds: 3, charger: { status: 'EVSE_Malfunction' } });
    const session = await judged(given.stop().end());
    expect(session.verdict).toBe('broken');
    expect(safety(session)[0]).toMatchObject({
      rule: 'stop-means-stop',
      owners: ['vehicle', 'charger'],
    });
  });

  it('does not excuse what was plain before it', async () => {
    const given = charging(protocol).demand({
      seconds: 3,
      charger: { status: 'EVSE_Malfunction' },
    });
    const session = await judged(given.gap().stop().end());
    expect(session.verdict).toBe('broken');
  });
});

describe('a clock', () => {
  const clean = cleanDialogue('iso15118-2').observations;

  it('that stepped back makes the session inconclusive, and accuses nobody', async () => {
    const place = placeOf(clean, 'CurrentDemandReq', 3);
    const stepped = insert(
      delay(clean, place, -1500),
      place,
      note(clean[place]!.at_ns - 15e8, 'clock'),
    );
    const session = await judged(stepped);
    expect(brief(session)).toEqual([]);
    expect(session.verdict).toBe('inconclusive');
    expect(session.reasons).toContain('the recording is clock');
  });

  it('that stepped back across a stop leaves its deadline undecided', async () => {
    const given = charging('iso15118-2').demand({
      seconds: 0.6,
      charger: { status: 'EVSE_Shutdown' },
    });
    const observations = given.stop().end().observations;
    const place = placeOf(observations, 'CurrentDemandReq', 7);
    const stepped = insert(
      delay(observations, place, -3000),
      place,
      note(observations[place]!.at_ns - 3e9, 'clock'),
    );
    const session = await judged(stepped);
    expect(brief(session)).toEqual([]);
    expect(ruleOf(session, 'stop-means-stop').verdict).toBe('not observed');
  });

  it('that jumped ahead, and the recorder said so: no silence is told', async () => {
    const place = placeOf(clean, 'CurrentDemandRes', 3);
    const jumped = insert(
      delay(clean, place, 60_000),
      place,
      note(clean[place]!.at_ns + 6e10, 'clock'),
    );
    const session = await judged(jumped);
    expect(safety(session)).toEqual([]);
    expect(session.verdict).toBe('inconclusive');
  });
});

describe('a recording at fault', () => {
  it.each(['damaged', 'cut'] as const)('%s: the session is inconclusive', async (problem) => {
    const clean = cleanDialogue('din70121').observations;
    const place = placeOf(clean, 'CurrentDemandReq', 2);
    const session = await judged(insert(clean, place, note(clean[place]!.at_ns, problem)));
    expect(safety(session)).toEqual([]);
    expect(session.verdict).toBe('inconclusive');
  });

  it('after every session: the file is inconclusive, the session holds', async () => {
    const given = cleanDialogue('din70121');
    const file = await replay([...given.observations, note(given.now_s * 1e9 + 3e11, 'cut')]);
    expect(file.sessions[0]!.verdict).toBe('holds');
    expect(file.verdict).toBe('inconclusive');
    expect(file.reasons).toEqual(['the recording is cut']);
  });
});

describe('TLS', () => {
  it('is not observed: one session, encrypted, inconclusive', async () => {
    const opened = cleanDialogue('iso15118-2').observations[0]!;
    const encrypted: Observation = {
      kind: 'link',
      link: 'tcp:1',
      state: 'encrypted',
      at_ns: 1e8,
      frame: 2,
      says: 'TLS: the messages are encrypted',
    };
    const session = await judged([opened, encrypted]);
    expect(session.protocol).toBe('encrypted');
    expect(session.verdict).toBe('inconclusive');
    expect(session.reasons[0]).toContain('encrypted');
    expect(safety(session)).toEqual([]);
    for (const rule of ['both-consent', 'isolation-first', 'gate-before-close'] as const) {
      expect(ruleOf(session, rule).verdict).toBe('not observed');
    }
  });
});

describe('a recording that ends in the middle', () => {
  it.each(['CableCheckReq', 'CableCheckRes', 'PreChargeReq', 'PreChargeRes'])(
    'after a %s: no breach, and not held either: what follows was not seen',
    async (name) => {
      const clean = cleanDialogue('iso15118-2').observations;
      const session = await judged(clean.slice(0, placeOf(clean, name) + 1));
      expect(safety(session)).toEqual([]);
      expect(session.summary.seenToEnd).toBe(false);
      expect(session.verdict).toBe('inconclusive');
    },
  );

  it('during transfer: the three decisive rules were decided, so it holds as far as it goes', async () => {
    const clean = cleanDialogue('iso15118-2').observations;
    const session = await judged(clean.slice(0, placesOf(clean, 'CurrentDemandRes').at(-1)! + 1));
    expect(safety(session)).toEqual([]);
    expect(session.summary.ended.by).toBeNull();
    expect(session.summary.ended.how).toContain('no close was seen');
    expect(session.verdict).toBe('holds');
  });

  it('in the second before a deadline: not observed', async () => {
    const given = charging('iso15118-2').demand({
      seconds: 0.4,
      charger: { status: 'EVSE_Malfunction' },
    });
    const session = await judged(given);
    expect(brief(session)).toEqual([]);
    expect(ruleOf(session, 'stop-means-stop').verdict).toBe('not observed');
  });
});

describe('nothing', () => {
  it('no session at all: inconclusive, with the reason', async () => {
    const file = await replay([]);
    expect(file.verdict).toBe('inconclusive');
    expect(file.reasons).toEqual(['no session of System C was found in it']);
  });

  it('EVErrorCode never said (NoData throughout): no breach, both-consent undecided', async () => {
    let given = cleanDialogue('din70121').observations;
    for (const [place, one] of given.entries()) {
      if (one.kind !== 'message' || one.from !== 'vehicle') continue;
      if ('DC_EVStatus' in one.message)
        given = setField(given, place, 'DC_EVStatus.EVErrorCode', 'NoData');
      for (const parent of ['DC_EVChargeParameter', 'DC_EVPowerDeliveryParameter']) {
        if (parent in one.message)
          given = setField(given, place, `${parent}.DC_EVStatus.EVErrorCode`, 'NoData');
      }
    }
    const session = await judged(given);
    expect(safety(session)).toEqual([]);
    expect(ruleOf(session, 'both-consent').verdict).toBe('not observed');
    expect(session.verdict).toBe('inconclusive');
  });
});
