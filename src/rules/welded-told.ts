import { liveVoltage_V } from '../facts/figures.ts';
import type { Facts } from '../facts/vocabulary.ts';
import { broken, holds, unknown, type Judgement, type Rule, type Scene } from './rule.ts';
import { inFrame, volts } from './words.ts';

/** The session is being left: what there was to tell had to be told by now. */
function leaves(now: Facts): boolean {
  return now.vehicleAct === 'end' || now.link === 'closed';
}

function judge(before: Facts, now: Facts): Judgement[] {
  // Power asked again on a contactor that never opened.
  if (now.vehicleAct === 'power' && before.weld === 'stays') return [broken('again', 'vehicle')];
  if (!leaves(now) || now.weld === 'unknown') return [];
  if (now.weld === 'no' || now.weldTold === 'yes') return [holds('told')];
  return now.weld === 'stays' ? [broken('told', 'vehicle')] : [unknown('told')];
}

function tell(judgement: Judgement, { extractor, reading }: Scene) {
  const { first, last } = extractor.weld;
  const voltage = `${volts(last?.value ?? 0)}${inFrame(last?.frame ?? null)}`;
  const act =
    judgement.part === 'again'
      ? `asked for power again (${reading.name})`
      : `ended the session with ${reading.name} and reported nothing,`;
  return {
    says: `The vehicle ${act} although the inlet stayed at ${voltage} after its contactors should have opened: one is likely welded.`,
    seen: `inlet at ${volts(first?.value ?? 0)} and still at ${voltage}; EVErrorCode NO_ERROR to the end`,
    allowed: `at most ${volts(liveVoltage_V.value)} after opening; otherwise a reported fault, the connector kept locked and no new session`,
    evidence: last?.evidence ?? ('reported' as const),
    confidence: 'from memory' as const,
    clause: 'IEC 61851-23, Annex CC, welding detection',
  };
}

export const weldedTold: Rule = {
  id: 'welded-told',
  class: 'safety',
  says: 'Voltage that stays at the inlet after opening is reported, and nothing is energised on it again.',
  owners: ['vehicle'],
  clause: 'IEC 61851-23, Annex CC, welding detection',
  needs: 'WeldingDetectionRes or a voltage meter at the inlet after the stop',
  figures: [liveVoltage_V],
  followsFrom: [],
  witness: 'WeldingDetectionRes reports 379 V four times, then SessionStopReq with NO_ERROR.',
  judge,
  tell,
};
