// A session in which both sides do everything right holds, with every decisive rule decided (design: Sessions).
import { describe, expect, it } from 'vitest';
import { decisive } from '../../src/rules/catalogue.ts';
import { cleanDialogue, dialogue } from '../support/dialogue.ts';
import { brief, judged, ruleOf } from '../support/judged.ts';

const protocols = ['din70121', 'iso15118-2'] as const;

describe.each(protocols)('a clean session of %s', (protocol) => {
  it('holds, without a finding, with every decisive rule decided', async () => {
    const session = await judged(cleanDialogue(protocol));
    expect(session.verdict).toBe('holds');
    expect(session.reasons).toEqual([]);
    expect(session.findings).toEqual([]);
    expect(session.protocol).toBe(protocol);
    for (const rule of decisive) expect(ruleOf(session, rule).verdict, rule).toBe('holds');
  });

  it('holds without welding detection, which is optional (system C, 4.1, step 11)', async () => {
    const session = await judged(
      dialogue(protocol).handshake().cableCheck().preCharge().start().demand().stop().end(),
    );
    expect([session.verdict, brief(session)]).toEqual(['holds', []]);
    expect(ruleOf(session, 'welded-told').verdict).toBe('vacuous');
  });
});
