// Every rule, safety first, in the order in which a breach of one is looked for before another.
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

/** Roots stand before what may follow from them, so that one pass finds the cause of a consequence. */
export const safetyRules: readonly Rule[] = [
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
