import type { Facts } from '../facts/vocabulary.ts';
import { broken, holds, type Judgement, type Rule, type Scene } from './rule.ts';
import { inFrame } from './words.ts';

const energises = (act: Facts['vehicleAct']): boolean =>
  act === 'test' || act === 'approach' || act === 'power' || act === 'demand';

function judge(_before: Facts, now: Facts): Judgement[] {
  const found: Judgement[] = [];
  if (energises(now.chargerAct)) {
    // Asked under another session's id and answered with OK: a consent counted that nobody gave in this session.
    if (now.answers === 'foreign') found.push(broken('foreign request', 'vehicle', 'charger'));
    else if (now.session === 'foreign') found.push(broken('foreign answer', 'charger'));
    else if (now.answers === 'this') found.push(holds('foreign request'));
  }
  const flows = now.current === 'low' || now.current === 'flowing';
  if (now.link === 'closed' && now.chargerStop === 'ignored' && flows) {
    found.push(broken('closed link', 'charger'));
  }
  return found;
}

function tell(judgement: Judgement, { reading, extractor }: Scene) {
  const shared = {
    evidence: 'reported' as const,
    confidence: 'from memory' as const,
    clause: 'DIN SPEC 70121, 9.6; ISO 15118-2, 8.4 (SessionID), FAILED_UnknownSession',
  };
  const own = extractor.thread.sessionId ?? 'unknown';
  if (judgement.part === 'closed link') {
    return {
      ...shared,
      says: 'Current went on after the link closed: no consent outlives its link.',
      seen: 'current above 5 A after the connection had ended',
      allowed: 'at most 5 A within 1 s after the link is lost',
    };
  }
  if (judgement.part === 'foreign answer') {
    return {
      ...shared,
      says: `The charger answered ${reading.name} under session ${reading.sessionId}, not this session ${own}.`,
      seen: `${reading.name} with SessionID ${reading.sessionId}`,
      allowed: `an answer with SessionID ${own}, or FAILED_UnknownSession`,
    };
  }
  const asked = extractor.thread.request?.reading;
  const name = asked?.name ?? 'a request';
  return {
    ...shared,
    says: `The vehicle sent ${name} under session ${asked?.sessionId}, which is not this session ${own}, and the charger answered it with ${reading.code}${inFrame(reading.frame)}.`,
    seen: `${name} with SessionID ${asked?.sessionId}, answered ${reading.code}`,
    allowed: `${name} with SessionID ${own}; any other id is refused with FAILED_UnknownSession and power stops`,
    frame: asked?.frame ?? null,
    at_ns: asked?.at_ns ?? reading.at_ns,
  };
}

export const freshConsent: Rule = {
  id: 'fresh-consent',
  class: 'safety',
  says: 'A consent counts only in the session and on the link that gave it.',
  owners: ['vehicle', 'charger'],
  clause: 'DIN SPEC 70121, 9.6; ISO 15118-2, 8.4 (SessionID)',
  needs: 'the SessionID of every message from CableCheck on',
  figures: [],
  followsFrom: ['silence-is-no', 'stop-means-stop'],
  witness: 'CurrentDemandReq carries the id of an earlier session and is answered OK.',
  judge,
  tell,
};
