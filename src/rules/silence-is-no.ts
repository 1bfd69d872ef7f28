import { silenceWhileFlowing_s } from '../facts/figures.ts';
import type { Facts } from '../facts/vocabulary.ts';
import { broken, holds, type Judgement, type Rule, type Scene, type Telling } from './rule.ts';
import { amperes, inFrame, seconds } from './words.ts';

function judge(_before: Facts, now: Facts): Judgement[] {
  if (now.silent === 'charger') return [broken('charger silent', 'vehicle')];
  if (now.silent === 'vehicle') return [broken('vehicle silent', 'charger')];
  const act = now.vehicleAct;
  const asks = act === 'approach' || act === 'power' || act === 'demand';
  return asks ? [holds('charger silent')] : [];
}

function tell(judgement: Judgement, { extractor, reading }: Scene): Telling {
  const told = extractor.silence.told!;
  const { current } = extractor.electrical;
  const allowed = seconds(told.allowed_ns);
  const since = inFrame(told.sinceFrame);
  if (judgement.part === 'vehicle silent') {
    return {
      says: `The vehicle was silent for ${seconds(told.lasted_ns)} after ${told.after}${since} and the charger kept ${amperes(current?.value ?? 0)} flowing; ${allowed} is allowed.`,
      seen: `${amperes(current?.value ?? 0)} after ${seconds(told.lasted_ns)} without a request`,
      allowed: `current down to 5 A once the vehicle has been silent for ${allowed} (project parameter; V2G_SECC_Sequence_Timeout of 60 s is no safety bound while current flows)`,
      evidence: current?.evidence ?? 'reported',
      confidence: silenceWhileFlowing_s.confidence,
      clause: 'DIN SPEC 70121, 9.6; ISO 15118-2, 8.7',
    };
  }
  const answer = told.late
    ? `was answered only after ${seconds(told.lasted_ns)}`
    : `had no answer for ${seconds(told.lasted_ns)}`;
  return {
    says: `The vehicle's ${told.after}${since} ${answer}, ${allowed} is allowed, and the vehicle sent ${reading.name} as if nothing had happened.`,
    seen: `${reading.name} ${seconds(told.lasted_ns)} after an unanswered ${told.after}`,
    allowed: `after ${allowed} without an answer the vehicle goes to pilot state B, ends the session and closes the connection`,
    evidence: 'reported',
    confidence: 'from memory',
    clause: 'ISO 15118-2, 8.7, Table 109; DIN SPEC 70121, 9.6',
    deadline: {
      armedFrame: told.sinceFrame,
      due_ns: reading.at_ns - told.lasted_ns + told.allowed_ns,
    },
  };
}

export const silenceIsNo: Rule = {
  id: 'silence-is-no',
  class: 'safety',
  says: 'A peer silent past its timeout has withdrawn its consent, and the other side acts on it.',
  owners: ['vehicle', 'charger'],
  clause: 'ISO 15118-2, 8.7, Table 109; DIN SPEC 70121, 9.6',
  needs: 'requests and answers with their times, without gaps',
  figures: [silenceWhileFlowing_s],
  followsFrom: [],
  witness: 'CurrentDemandReq stays unanswered and the vehicle sends the next one 1.4 s later.',
  judge,
  tell,
};
