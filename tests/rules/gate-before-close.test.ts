// gate-before-close: the vehicle closes only with the output less than 20 V from its battery (IEC 61851-23 Annex CC,
// pre-charge; the 20 V are quoted in EP 4140800 A1). The charger's report may be 5 V off, a figure known roughly.
import { describe, expect, it } from 'vitest';
import { delay, frameOf, gapAt, insert, placeOf, placesOf, drop } from '../support/alter.ts';
import { cleanDialogue, dialogue } from '../support/dialogue.ts';
import { brief, judged, ruleOf, safety } from '../support/judged.ts';

const protocols = ['din70121', 'iso15118-2'] as const;

describe.each(protocols)('%s', (protocol) => {
  /** Battery at 352 V, the last PreChargeRes at `last_V`. */
  const closing = (last_V: number) =>
    dialogue(protocol)
      .handshake()
      .cableCheck()
      .preCharge({ reports_V: [120, 250, last_V] });
  const rest = (given: ReturnType<typeof closing>) => given.start().demand().stop().end();

  it('witness: closed with the charger at 306 V and the battery at 352 V', async () => {
    const given = rest(closing(306));
    const session = await judged(given);
    expect(brief(session)).toEqual([
      `gate-before-close breach vehicle ${frameOf(given.observations, 'PowerDeliveryReq')}`,
    ]);
    const [finding] = safety(session);
    expect(finding!.says).toContain('46 V apart, less than 20 V is allowed');
    expect(finding!.confidence).toBe('confirmed');
    expect(finding!.evidence).toBe('inferred');
    expect(session.verdict).toBe('broken');
  });

  it.each([
    [332.1, 'holds', 'holds'],
    [332, 'suspected', 'inconclusive'],
    [331.9, 'suspected', 'inconclusive'],
    [327.1, 'suspected', 'inconclusive'],
    [327, 'broken', 'broken'],
    [326, 'broken', 'broken'],
    [371.9, 'holds', 'holds'],
    [372, 'suspected', 'inconclusive'],
    [377.1, 'broken', 'broken'],
  ] as const)(
    'PreChargeRes at %s V: the rule %s, the session %s',
    async (last_V, rule, verdict) => {
      // Upwards the report is also beyond what was asked by more than 5 %: only this rule is looked at.
      const session = await judged(rest(closing(last_V)));
      expect(ruleOf(session, 'gate-before-close').verdict).toBe(rule);
      if (last_V < 352) expect(session.verdict).toBe(verdict);
    },
  );

  it('19.9 V apart holds, with the margin, its frame and time', async () => {
    const given = rest(closing(332.1));
    const session = await judged(given);
    expect(ruleOf(session, 'gate-before-close').margin).toMatchObject({
      value: 19.9,
      limit: 20,
      unit: 'V',
      frame: frameOf(given.observations, 'PreChargeRes', -1),
    });
  });

  it('a suspected breach names the figure behind it, and decides under --strict', async () => {
    const given = rest(closing(328));
    const session = await judged(given);
    const [finding] = safety(session);
    expect(finding).toMatchObject({ status: 'suspected', owners: ['vehicle'] });
    expect(finding!.says).toContain("The charger's report may be off by 5 V");
    expect((await judged(given, { strict: true })).verdict).toBe('broken');
  });

  it('nobody closes on it: a charger 46 V off is no breach by itself (system C, D15)', async () => {
    const session = await judged(closing(306).stop().end());
    expect([session.verdict, brief(session)]).toEqual(['holds', []]);
  });

  it('the battery is what the latest PreChargeReq asks for: it follows while it waits (6.3)', async () => {
    const given = closing(352).preCharge({ target_V: 380, reports_V: [352] });
    const session = await judged(rest(given));
    expect(safety(session)[0]).toMatchObject({ rule: 'gate-before-close', owners: ['vehicle'] });
    const followed = closing(352).preCharge({ target_V: 380, reports_V: [365] });
    expect(brief(await judged(rest(followed)))).toEqual([]);
  });

  it('meters at inlet and battery decide over what the messages say', async () => {
    const metered = closing(350).meter('battery', 352).meter('inlet', 331.5).contactor('closed');
    const session = await judged(rest(metered));
    expect(safety(session)[0]).toMatchObject({
      rule: 'gate-before-close',
      status: 'breach',
      evidence: 'measured',
    });
    const inside = closing(326).meter('battery', 352).meter('inlet', 332.5).contactor('closed');
    expect(brief(await judged(rest(inside)))).toEqual([]);
  });
});

const clean = () => cleanDialogue('iso15118-2').observations;

describe('not decided', () => {
  it('no PreChargeRes: not observed, inconclusive', async () => {
    const given = clean();
    const session = await judged(drop(given, ...placesOf(given, 'PreChargeRes')));
    expect(ruleOf(session, 'gate-before-close').verdict).toBe('not observed');
    expect(session.verdict).not.toBe('holds');
  });

  it('a report older than three cycles of 2 s says nothing of the closing', async () => {
    const given = clean();
    const late = delay(given, placeOf(given, 'PowerDeliveryReq'), 6_100);
    expect(ruleOf(await judged(late), 'gate-before-close').verdict).toBe('not observed');
    const intime = delay(given, placeOf(given, 'PowerDeliveryReq'), 5_800);
    expect(ruleOf(await judged(intime), 'gate-before-close').verdict).toBe('holds');
  });

  it('a gap before the closing hides a PreChargeRes: not observed, whatever came before it', async () => {
    const far = dialogue('iso15118-2')
      .handshake()
      .cableCheck()
      .preCharge({ reports_V: [100, 200] });
    const given = far.start().demand().stop().end().observations;
    const place = placeOf(given, 'PowerDeliveryReq');
    const session = await judged(insert(given, place, gapAt(given[place]!.at_ns)));
    expect(brief(session)).toEqual([]);
    expect(ruleOf(session, 'gate-before-close').verdict).toBe('not observed');
    expect(session.verdict).toBe('inconclusive');
  });

  it('after a renegotiation the contactor may have stayed closed (ISO 15118-2): no breach', async () => {
    const given = dialogue('iso15118-2').handshake().cableCheck().preCharge().start().demand();
    given.rampDown().renegotiate().parameters().start().demand().stop().end();
    const session = await judged(given);
    expect(brief(session)).toEqual([]);
  });

  it('after a renegotiation with a new test and pre-charge, it holds', async () => {
    const given = dialogue('iso15118-2').handshake().cableCheck().preCharge().start().demand();
    given
      .rampDown()
      .renegotiate()
      .parameters()
      .cableCheck()
      .preCharge()
      .start()
      .demand()
      .stop()
      .end();
    const session = await judged(given);
    expect([session.verdict, brief(session)]).toEqual(['holds', []]);
  });
});
