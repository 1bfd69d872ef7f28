import { covers, type Consent, type Facts, type Scope } from '../facts/vocabulary.ts';
import { and, type Truth } from '../facts/logic.ts';
import { liveVoltage_V, preChargeCurrent_A } from '../facts/figures.ts';
import type { Side } from '../trace/observation.ts';
import { broken, holds, unknown, type Judgement, type Rule, type Scene } from './rule.ts';
import { amperes, capital, inFrame, volts } from './words.ts';

/** How far the power path has gone, by what was seen; null when nothing is energised as far as is known. */
function energised(now: Facts): Scope | null {
  const flows = now.current === 'low' || now.current === 'flowing' || now.reverse === 'plain';
  if (flows) return 'power';
  if (now.outputDriven !== 'yes') return null;
  return onlyTested(now) ? 'test' : 'approach';
}

/** Until the vehicle asks for pre-charge a live output can only be the isolation test. */
function onlyTested({ vehicleConsent, chargerConsent }: Facts): boolean {
  if (vehicleConsent !== 'withdrawn') return vehicleConsent === 'none' || vehicleConsent === 'test';
  return chargerConsent === 'none' || chargerConsent === 'test';
}

/** After a withdrawal the current may come down for as long as the stop has time: stop-means-stop judges that. */
function comesDown(now: Facts): boolean {
  const stop = worstStop(now);
  // A stop ends at the opening current (`low`); one late by a rough figure only is no plain breach.
  return (
    stop === 'running' || stop === 'unobserved' || stop === 'doubtful' || now.current === 'low'
  );
}

function yes(consent: Consent, scope: Scope, now: Facts): Truth {
  return (consent === 'withdrawn' && comesDown(now)) || covers(consent, scope);
}

function judge(before: Facts, now: Facts): Judgement[] {
  const scope = energised(now);
  if (scope === null) return [];
  const vehicle = yes(now.vehicleConsent, scope, now);
  // A test is the charger's own act: what it needs is the vehicle's CableCheckReq.
  const charger = scope === 'test' || yes(now.chargerConsent, scope, now);
  const both = and(vehicle, charger);
  if (both === true) return [holds(scope)];
  if (both === null) return [unknown(scope)];
  // The charger drives the output; the vehicle shares the breach when it asks for what was not agreed.
  const asks = now.vehicleAct ?? before.vehicleAct;
  // One that has taken its own consent back tells so with the same requests.
  const knew = now.vehicleAct !== null || covers(before.chargerConsent, scope) === false;
  const wants =
    knew &&
    now.vehicleConsent !== 'withdrawn' &&
    ((asks === 'demand' && now.asked !== 'nothing') ||
      (asks === 'approach' && scope === 'approach'));
  const owners: Side[] = wants && charger === false ? ['vehicle', 'charger'] : ['charger'];
  return [broken(scope, ...owners)];
}

function worstStop(now: Facts): Facts['chargerStop'] {
  for (const state of ['ignored', 'late', 'doubtful', 'running', 'unobserved'] as const) {
    if (now.chargerStop === state || now.vehicleStop === state) return state;
  }
  return 'none';
}

function tell(judgement: Judgement, { facts, extractor, reading }: Scene) {
  const { current, output } = extractor.electrical;
  const scope = judgement.part as Scope;
  const what =
    scope === 'power' && current !== null
      ? `${amperes(current.value)} flowed${inFrame(current.frame)}`
      : `the output stood at ${volts(output?.value ?? 0)}${inFrame(output?.frame ?? null)}`;
  const missing = (['vehicle', 'charger'] as const)
    .filter((side) => covers(facts[`${side}Consent`], scope) === false)
    .map((side) => missingWords(side, facts, extractor));
  return {
    says: `${capital(what)} without both consents: ${missing.join('; ')}.`,
    seen: `${what}; consents: vehicle ${facts.vehicleConsent}, charger ${facts.chargerConsent}`,
    allowed: allowedWords(scope),
    evidence: (scope === 'power' ? current : output)?.evidence ?? reading.evidence,
    confidence: 'from memory' as const,
    clause: 'DIN SPEC 70121, 9.7; ISO 15118-2, 8.8; IEC 61851-23, Annex CC',
  };
}

function missingWords(side: Side, facts: Facts, extractor: Scene['extractor']): string {
  const withdrawal = extractor.consents[`${side}Withdrawal`];
  const consent = facts[`${side}Consent`];
  if (consent === 'withdrawn' && withdrawal !== null) {
    return `the ${side} had withdrawn its own${inFrame(withdrawal.frame)}, because ${withdrawal.because}`;
  }
  return `the ${side} had ${consent === 'none' ? 'given none' : `given it for ${consent} only`}`;
}

function allowedWords(scope: Scope): string {
  if (scope === 'test') return 'live output only after CableCheckReq and an OK answer to it';
  if (scope === 'approach') {
    return `above ${volts(liveVoltage_V.value)} only after CableCheckRes Finished with a passed isolation test, and PreChargeReq`;
  }
  return `above ${amperes(preChargeCurrent_A.value)} only after PowerDeliveryReq to start and PowerDeliveryRes OK with EVSE_Ready`;
}

export const bothConsent: Rule = {
  id: 'both-consent',
  class: 'safety',
  says: 'The output is live beyond the isolation test, and current flows, only within the scope both sides have agreed to.',
  owners: ['vehicle', 'charger'],
  clause: 'DIN SPEC 70121, 9.7; ISO 15118-2, 8.8; IEC 61851-23, Annex CC',
  needs: 'the messages from CableCheck to CurrentDemand, or a meter at the output',
  figures: [liveVoltage_V, preChargeCurrent_A],
  followsFrom: [
    'isolation-first',
    'fresh-consent',
    'stop-means-stop',
    'silence-is-no',
    'welded-told',
  ],
  witness: 'CurrentDemandRes reports 20 A although PowerDeliveryRes was never sent.',
  judge,
  tell,
};
