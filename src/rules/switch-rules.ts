// Rules about the moments in which something opens or unlocks: contactors cold, connector at a safe voltage.
import { liveVoltage_V, openingCurrentError_A, openingCurrentNormal_A } from '../facts/figures.ts';
import type { Facts } from '../facts/vocabulary.ts';
import { broken, holds, unknown, type Judgement, type Rule, type Scene } from './rule.ts';
import { amperes, inFrame, volts } from './words.ts';

function judgeOpening(before: Facts, now: Facts): Judgement[] {
  const opens = before.vehicleContactor === 'closed' && now.vehicleContactor === 'open';
  const implied = now.vehicleAct === 'weld check' && before.vehicleAct !== 'weld check';
  if (!opens && !(implied && before.vehicleContactor === 'unknown')) return [];
  const emergency =
    [now.vehicleAlarm, now.chargerAlarm].some(
      (alarm) => alarm === 'emergency' || alarm === 'crash',
    ) || now.crashDuty !== 'none';
  if (emergency || now.current === 'none' || now.current === 'idle') return [holds('vehicle')];
  if (now.current === 'unknown' || !opens) return [unknown('vehicle')];
  // Between 1 A and 5 A only the limit of a normal stop is passed, a figure known roughly.
  if (now.current === 'low') return [{ outcome: 'doubtful', part: 'vehicle', owners: ['vehicle'] }];
  return [broken('vehicle', 'vehicle')];
}

export const openCold: Rule = {
  id: 'open-cold',
  class: 'safety',
  says: 'Contactors open below the opening current, unless an emergency asks otherwise.',
  owners: ['vehicle'],
  clause: 'IEC 61851-23, Annex CC, shutdown',
  needs: 'a record of the contactor and a current meter',
  records: ['contactor'],
  figures: [openingCurrentNormal_A, openingCurrentError_A],
  followsFrom: ['stop-means-stop'],
  witness: "The vehicle's contactor opens at 180 A in a normal stop.",
  judge: judgeOpening,
  tell: (judgement, { extractor }: Scene) => {
    const { current } = extractor.electrical;
    const bound = judgement.outcome === 'doubtful' ? openingCurrentNormal_A : openingCurrentError_A;
    return {
      says: `The vehicle opened its contactor at ${amperes(current?.value ?? 0)}${inFrame(current?.frame ?? null)}; at most ${amperes(bound.value)} is allowed.`,
      seen: `${amperes(current?.value ?? 0)} at opening`,
      allowed: `at most ${amperes(openingCurrentNormal_A.value)} in a normal stop, ${amperes(openingCurrentError_A.value)} in an error stop`,
      evidence: current?.evidence ?? 'measured',
      confidence: bound.confidence,
      clause: 'IEC 61851-23, Annex CC, shutdown',
    };
  },
};

function judgeUnlock(before: Facts, now: Facts): Judgement[] {
  if (before.locked !== 'yes' || now.locked !== 'no') return [];
  const live = now.outputVoltage === 'live' || now.inletVoltage === 'live';
  if (live) return [broken('unlock', 'vehicle')];
  return now.outputVoltage === 'safe' || now.inletVoltage === 'safe'
    ? [holds('unlock')]
    : [unknown('unlock')];
}

export const coldUnlock: Rule = {
  id: 'cold-unlock',
  class: 'safety',
  says: 'The connector unlocks only at or below 60 V.',
  owners: ['vehicle'],
  clause: 'IEC 61851-23, connector lock',
  needs: 'a record of the lock and a voltage at the connector',
  records: ['lock'],
  figures: [liveVoltage_V],
  followsFrom: ['welded-told', 'stop-means-stop'],
  witness: 'The lock opens while the inlet still stands at 380 V.',
  judge: judgeUnlock,
  tell: (_judgement, { extractor }: Scene) => {
    const { inlet, output } = extractor.electrical;
    const voltage = [inlet, output]
      .filter((one) => one !== null)
      .toSorted((a, b) => b.value - a.value)[0]!;
    return {
      says: `The connector unlocked at ${volts(voltage.value)}${inFrame(voltage.frame)}; at most ${volts(liveVoltage_V.value)} is allowed.`,
      seen: `${volts(voltage.value)} at unlocking`,
      allowed: `locked until the voltage is at most ${volts(liveVoltage_V.value)}`,
      evidence: voltage.evidence,
      confidence: liveVoltage_V.confidence,
      clause: 'IEC 61851-23, connector lock; ISO 6469-3',
    };
  },
};
