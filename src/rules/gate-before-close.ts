import type { Facts } from '../facts/vocabulary.ts';
import { closingGate_V, reportedVoltageError_V } from '../facts/figures.ts';
import { gateDistance_V } from '../facts/electrical.ts';
import { broken, holds, unknown, type Judgement, type Rule, type Scene } from './rule.ts';
import { inFrame, volts } from './words.ts';

/** The vehicle's contactor closes here: seen, or implied by the request to start power. */
function closes(before: Facts, now: Facts): boolean {
  const seen = before.vehicleContactor !== 'closed' && now.vehicleContactor === 'closed';
  return seen || (now.vehicleAct === 'power' && before.vehicleContactor !== 'closed');
}

function judge(before: Facts, now: Facts): Judgement[] {
  if (!closes(before, now)) return [];
  if (now.gate === 'inside') return [holds('vehicle')];
  // After a renegotiation the contactor may have stayed closed: then nothing closes here.
  const perhapsClosed =
    before.vehicleContactor === 'unknown' && before.vehicleConsent === 'withdrawn';
  if (now.gate === 'unknown' || perhapsClosed) return [unknown('vehicle')];
  if (now.gate === 'doubtful') {
    return [{ outcome: 'doubtful', part: 'vehicle', owners: ['vehicle'] }];
  }
  return [broken('vehicle', 'vehicle')];
}

function tell(judgement: Judgement, { reading, extractor }: Scene) {
  const { battery, inlet, output } = extractor.electrical;
  const across = inlet ?? output;
  const apart_V = gateDistance_V(extractor.electrical, reading.at_ns) ?? 0;
  const doubt =
    judgement.outcome === 'doubtful'
      ? ` The charger's report may be off by ${volts(reportedVoltageError_V.value)}, so the vehicle's own reading may have been inside.`
      : '';
  const act =
    reading.name === 'contactor'
      ? 'closed its contactor'
      : `asked for power (${reading.name}), which closes its contactor,`;
  return {
    says:
      `The vehicle ${act} with the charger at ${volts(across?.value ?? 0)}${inFrame(across?.frame ?? null)} ` +
      `and its battery at ${volts(battery?.value ?? 0)}${inFrame(battery?.frame ?? null)}: ` +
      `${volts(apart_V)} apart, less than ${volts(closingGate_V.value)} is allowed.${doubt}`,
    seen: `${volts(apart_V)} between output and battery at closing`,
    allowed: `more PreChargeReq until the difference is below ${volts(closingGate_V.value)}, or a stop`,
    evidence: battery?.evidence === 'measured' ? across!.evidence : ('inferred' as const),
    confidence: closingGate_V.confidence,
    clause: 'IEC 61851-23, Annex CC, pre-charge',
  };
}

export const gateBeforeClose: Rule = {
  id: 'gate-before-close',
  class: 'safety',
  says: 'The vehicle closes its contactor only with the output within 20 V of its battery.',
  owners: ['vehicle'],
  clause: 'IEC 61851-23, Annex CC, pre-charge',
  needs: 'PreChargeReq and PreChargeRes before PowerDeliveryReq, or meters at inlet and battery',
  figures: [closingGate_V, reportedVoltageError_V],
  followsFrom: [],
  witness: 'PowerDeliveryReq to start while PreChargeRes last reported 306 V for a 352 V battery.',
  judge,
  tell,
};
