// The two rules about how much the charger delivers: against limits, and against the request.
import {
  currentToleranceShare,
  currentTolerance_A,
  demandFollow_A_per_s,
  demandWindow_s,
  reportedVoltageError_V,
  stopFall_A_per_s,
  voltageToleranceShare,
} from '../facts/figures.ts';
import type { Excess } from '../facts/envelope.ts';
import type { Facts } from '../facts/vocabulary.ts';
import {
  broken,
  holds,
  type Judgement,
  type Rule,
  type RuleId,
  type Scene,
  type Telling,
} from './rule.ts';
import { capital, inFrame, number } from './words.ts';

const CLAUSE = 'IEC 61851-23:2014, 101.2.1 and 6.4.3.101';

function judgement(part: string, fact: Facts['limits']): Judgement[] {
  if (fact === 'unknown') return [];
  if (fact === 'within') return [holds(part)];
  if (fact === 'doubtful') return [{ outcome: 'doubtful', part, owners: ['charger'] }];
  return [broken(part, 'charger')];
}

function amount(value: number, excess: Excess): string {
  return excess.unit === 'W' ? `${number(value / 1000)} kW` : `${number(value)} ${excess.unit}`;
}

function tellExcess(excess: Excess, { reading }: Scene): Telling {
  const { value, limit, tolerance, limitOf, limitFrame } = excess;
  const bound =
    limitOf === null
      ? `asked at most ${amount(limit, excess)} within the last second`
      : `the ${limitOf}'s limit is ${amount(limit, excess)}`;
  const beyond = `${amount(value - limit, excess)} too much`;
  return {
    says: capital(
      `the charger delivered ${amount(value, excess)} although ${limitOf === null ? 'the vehicle ' : ''}${bound}${inFrame(limitFrame)}: ${beyond}, ${amount(tolerance, excess)} tolerated.`,
    ),
    seen: `${amount(value, excess)} ${excess.quantity} at the output`,
    allowed: `at most ${amount(limit, excess)}, plus ${amount(tolerance, excess)} tolerance`,
    evidence: reading.observed === undefined ? 'reported' : 'measured',
    confidence: excess.doubtful ? reportedVoltageError_V.confidence : currentTolerance_A.confidence,
    clause: CLAUSE,
  };
}

interface OutputRule {
  id: RuleId;
  fact: 'limits' | 'demand';
  says: string;
  excess: (scene: Scene) => Excess | null;
  followsFrom: RuleId[];
  figures: Rule['figures'];
  witness: string;
}

/** A rule over one fact of the envelope. A measuring sample of every message judges it anew. */
function outputRule(own: OutputRule): Rule {
  return {
    id: own.id,
    class: 'safety',
    says: own.says,
    owners: ['charger'],
    clause: CLAUSE,
    needs: 'EVSEPresentVoltage and EVSEPresentCurrent with the limits and requests before them',
    figures: own.figures,
    followsFrom: own.followsFrom,
    witness: own.witness,
    judge: (_before, now) => judgement('output', now[own.fact]),
    tell: (_judgement, scene) => tellExcess(own.excess(scene)!, scene),
  };
}

export const withinLimits = outputRule({
  id: 'within-limits',
  fact: 'limits',
  says: "Voltage, current and power stay within both sides' latest limits.",
  excess: ({ extractor }) => extractor.envelope.overLimit,
  // Behind a contactor that closed outside its gate the voltage is the battery's.
  followsFrom: ['gate-before-close'],
  figures: [
    currentTolerance_A,
    currentToleranceShare,
    voltageToleranceShare,
    reportedVoltageError_V,
    stopFall_A_per_s,
  ],
  witness: 'CurrentDemandRes reports 168 A while EVMaximumCurrentLimit is 120 A.',
});

export const followsDemand = outputRule({
  id: 'follows-demand',
  fact: 'demand',
  says: 'The charger delivers no more than was asked within the last second, and comes down as fast as required.',
  excess: ({ extractor }) => extractor.envelope.overDemand,
  followsFrom: ['within-limits', 'stop-means-stop', 'silence-is-no'],
  figures: [
    demandWindow_s,
    demandFollow_A_per_s,
    currentTolerance_A,
    currentToleranceShare,
    voltageToleranceShare,
  ],
  witness: 'EVTargetCurrent fell to 20 A two seconds ago and CurrentDemandRes still reports 120 A.',
});
