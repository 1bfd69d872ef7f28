import { isolationFault_ohm_per_V, isolationWarning_ohm_per_V } from '../facts/figures.ts';
import type { Facts } from '../facts/vocabulary.ts';
import type { Side } from '../trace/observation.ts';
import { broken, holds, unknown, type Judgement, type Rule, type Scene } from './rule.ts';
import { capital, inFrame } from './words.ts';

/** A demand of 0 A is how a vehicle stops; an answer to a demand goes on only while current flows. */
function goesOn(now: Facts): Side | null {
  const { vehicleAct, chargerAct } = now;
  if (vehicleAct === 'approach' || vehicleAct === 'power') return 'vehicle';
  if (chargerAct === 'approach' || chargerAct === 'power') return 'charger';
  if (vehicleAct === 'demand' && now.asked !== 'nothing') return 'vehicle';
  const flows = now.current === 'low' || now.current === 'flowing';
  return chargerAct === 'demand' && flows ? 'charger' : null;
}

/** An answer that itself reports the fault is the report, not a going on: the charger acts on what stood before it. */
function knownTo(side: Side, before: Facts, now: Facts): Facts['isolation'] {
  return side === 'charger' ? before.isolation : now.isolation;
}

function judge(before: Facts, now: Facts): Judgement[] {
  const side = goesOn(now);
  if (side === null) return [];
  const isolation = knownTo(side, before, now);
  if (isolation === 'valid' || isolation === 'warning') return [holds(side)];
  if (isolation === 'unknown') return [unknown(side)];
  const demand = now.vehicleAct === 'demand' || now.chargerAct === 'demand';
  const stop = side === 'vehicle' ? now.vehicleStop : now.chargerStop;
  // Isolation lost during transfer is first of all a stop: this rule speaks once that stop has been ignored.
  if (demand && stop !== 'none' && stop !== 'ignored') return [];
  return [broken(side, side)];
}

function tell(judgement: Judgement, { reading, facts, extractor }: Scene) {
  const side = judgement.owners[0] ?? 'vehicle';
  const state = testWords(facts, extractor.isolationFrame);
  const measured = extractor.isolationEvidence === 'measured';
  const act = side === 'vehicle' ? 'sent' : 'answered OK with';
  return {
    says: `The ${side} ${act} ${reading.name} although ${state}.`,
    seen: `${reading.name}; ${state}`,
    allowed:
      facts.isolation === 'fault'
        ? 'after an isolation fault only a stop; a new session starts with a new test'
        : 'CableCheckReq, repeated until CableCheckRes is OK, Finished and Valid/Safe (or Warning); only then PreChargeReq',
    evidence: extractor.isolationEvidence,
    // The classes of a measured resistance are figures from memory.
    confidence: measured ? ('from memory' as const) : ('confirmed' as const),
    clause: 'ISO 15118-2, V2G2-584 and V2G2-621; DIN SPEC 70121, 9.7; IEC 61851-23, Annex CC',
  };
}

function testWords(facts: Facts, frame: number | null): string {
  switch (facts.isolation) {
    case 'untested':
      return frame === null
        ? "this session's isolation test never began"
        : `the last isolation status was no pass${inFrame(frame)}`;
    case 'testing':
      return `this session's isolation test was still running${inFrame(frame)}`;
    default:
      return `isolation stood at ${facts.isolation}${inFrame(frame)}`;
  }
}

export const isolationFirst: Rule = {
  id: 'isolation-first',
  class: 'safety',
  says: "No pre-charge and no power before this session's isolation test ended valid or with a warning; none after a fault.",
  owners: ['vehicle', 'charger'],
  clause: 'ISO 15118-2, V2G2-584, V2G2-621; IEC 61851-23, Annex CC',
  needs: 'the CableCheck messages and EVSEIsolationStatus',
  figures: [isolationFault_ohm_per_V, isolationWarning_ohm_per_V],
  followsFrom: ['isolation-first', 'stop-means-stop'],
  witness: 'PreChargeReq follows a CableCheckRes that said Ongoing.',
  judge,
  tell: (judgement, scene) => {
    const telling = tell(judgement, scene);
    return { ...telling, says: capital(telling.says) };
  },
};
