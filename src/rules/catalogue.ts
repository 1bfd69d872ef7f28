// Every rule there is.
import { bothConsent } from './both-consent.ts';
import { freshConsent } from './fresh-consent.ts';
import { gateBeforeClose } from './gate-before-close.ts';
import { isolationFirst } from './isolation-first.ts';
import { conformanceRules } from './conformance.ts';
import { followsDemand, withinLimits } from './output-rules.ts';
import type { Rule } from './rule.ts';
import { silenceIsNo } from './silence-is-no.ts';
import { stopMeansStop } from './stop-means-stop.ts';
import { coldUnlock, openCold } from './switch-rules.ts';
import { crashIsolates, forwardOnly, weakestCell } from './vehicle-rules.ts';
import { weldedTold } from './welded-told.ts';

/** Every safety rule, as the documentation lists them. */
export const safetyRules: readonly Rule[] = [
  bothConsent,
  freshConsent,
  isolationFirst,
  gateBeforeClose,
  withinLimits,
  followsDemand,
  forwardOnly,
  stopMeansStop,
  silenceIsNo,
  openCold,
  coldUnlock,
  crashIsolates,
  weakestCell,
  weldedTold,
];

/**
 * The order in which the rules judge one step: what may be a root stands before what may follow from it, so that a
 * consequence shown by the same message finds its cause.
 */
export const judgingOrder: readonly Rule[] = [
  silenceIsNo,
  stopMeansStop,
  isolationFirst,
  gateBeforeClose,
  freshConsent,
  withinLimits,
  crashIsolates,
  weldedTold,
  weakestCell,
  forwardOnly,
  followsDemand,
  bothConsent,
  openCold,
  coldUnlock,
];

/** A session may hold only if these three were decided. */
export const decisive = ['both-consent', 'isolation-first', 'gate-before-close'] as const;

/** What `handfast rules` lists. */
export type RuleDescription = Pick<
  Rule,
  'id' | 'class' | 'says' | 'clause' | 'owners' | 'needs' | 'figures' | 'witness'
>;

export const ruleCatalogue: readonly RuleDescription[] = [...safetyRules, ...conformanceRules];
