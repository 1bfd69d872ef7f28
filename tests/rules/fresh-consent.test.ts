// fresh-consent: a consent counts only in the session and on the link that gave it (DIN SPEC 70121 9.6; ISO 15118-2
// 8.4: a wrong SessionID is answered FAILED_UnknownSession; P8 of system C, 10).
import { describe, expect, it } from 'vitest';
import type { Observation } from '../../src/trace/observation.ts';
import { frameOf, placeOf, placesOf, setField, setSession } from '../support/alter.ts';
import { charging, cleanDialogue } from '../support/dialogue.ts';
import { brief, judged, ruleOf, safety } from '../support/judged.ts';

const protocols = ['din70121', 'iso15118-2'] as const;
const OTHER = '1122334455667788';

describe.each(protocols)('%s', (protocol) => {
  const clean = cleanDialogue(protocol).observations;
  const demand = placeOf(clean, 'CurrentDemandReq', 3);

  it('witness: CurrentDemandReq of another session, answered OK', async () => {
    const session = await judged(setSession(clean, demand, OTHER));
    const [first] = safety(session);
    expect(first).toMatchObject({
      rule: 'fresh-consent',
      status: 'breach',
      owners: ['vehicle', 'charger'],
      frame: frameOf(clean, 'CurrentDemandReq', 3),
      causedBy: null,
    });
    expect(first!.says).toContain(OTHER);
    expect(first!.says).toContain(`(frame ${frameOf(clean, 'CurrentDemandRes', 3)})`);
    expect(session.verdict).toBe('broken');
  });

  it('answered under another session by the charger alone', async () => {
    const session = await judged(setSession(clean, demand + 1, OTHER));
    expect(safety(session)[0]).toMatchObject({
      rule: 'fresh-consent',
      owners: ['charger'],
      frame: frameOf(clean, 'CurrentDemandRes', 3),
    });
  });

  it.each(['CableCheckReq', 'PreChargeReq', 'PowerDeliveryReq'])(
    '%s of another session, answered OK',
    async (name) => {
      const session = await judged(setSession(clean, placeOf(clean, name), OTHER));
      expect(safety(session)[0]).toMatchObject({
        rule: 'fresh-consent',
        owners: ['vehicle', 'charger'],
      });
    },
  );

  it('refused with FAILED_UnknownSession, and both stop: no breach', async () => {
    const given = charging(protocol).demand({
      seconds: 0.2,
      delivers_A: 100,
      charger: { code: 'FAILED_UnknownSession' },
    });
    const observations = given.wait(100).ammeter(0).close().observations;
    const last = placesOf(observations, 'CurrentDemandReq').at(-1)!;
    expect(brief(await judged(setSession(observations, last, OTHER)))).toEqual([]);
  });

  it('a foreign request before any consent (set-up) is no matter of this rule', async () => {
    const session = await judged(setSession(clean, placeOf(clean, 'ServiceDiscoveryReq'), OTHER));
    expect(ruleOf(session, 'fresh-consent').verdict).toBe('holds');
  });

  it('an old session joined keeps its id, and everything is asked anew', async () => {
    const place = placeOf(clean, 'SessionSetupReq');
    const joined = setField(
      setSession(clean, place, 'A1B2C3D4E5F60708'),
      place + 1,
      'ResponseCode',
      'OK_OldSessionJoined',
    );
    const session = await judged(joined);
    expect([session.verdict, brief(session)]).toEqual(['holds', []]);
  });

  it('one case of the id is as good as the other: hexadecimal bytes, not text', async () => {
    const lower = clean.map((one): Observation => {
      if (one.kind !== 'message' || one.from !== 'vehicle' || one.header === undefined) return one;
      const SessionID = String(one.header['SessionID']).toLowerCase();
      return Object.assign({}, one, { header: { SessionID } });
    });
    expect(brief(await judged(lower))).toEqual([]);
  });
});

describe('P9', () => {
  it('a foreign request that was answered OK gives no consent of its own', async () => {
    const observations = cleanDialogue('iso15118-2').observations;
    const start = placeOf(observations, 'PowerDeliveryReq');
    const session = await judged(setSession(observations, start, OTHER));
    expect(ruleOf(session, 'both-consent').verdict).toBe('broken');
    const consent = safety(session).find(({ rule }) => rule === 'both-consent');
    expect(consent!.causedBy).toBe(safety(session)[0]!.id);
  });
});
