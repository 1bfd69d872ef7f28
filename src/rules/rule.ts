// What a rule is: a judgement over finite facts, the same for a captured trace, a random run and an exhaustive
// search, and a way to tell a breach with the numbers behind it where there are numbers.
import type { Extractor } from '../facts/extract.ts';
import type { EvidenceKind } from '../facts/evidence.ts';
import type { Confidence, Figure } from '../facts/figures.ts';
import type { Reading } from '../facts/reading.ts';
import type { Facts } from '../facts/vocabulary.ts';
import type { Observation, Side } from '../trace/observation.ts';
import type { RuleClass } from './result.ts';

export type RuleId =
  | 'both-consent'
  | 'fresh-consent'
  | 'isolation-first'
  | 'gate-before-close'
  | 'within-limits'
  | 'follows-demand'
  | 'forward-only'
  | 'stop-means-stop'
  | 'silence-is-no'
  | 'open-cold'
  | 'cold-unlock'
  | 'crash-isolates'
  | 'weakest-cell'
  | 'welded-told'
  | 'in-order'
  | 'in-time';

/**
 * `holds`: relevant here and kept · `broken` · `doubtful`: beyond a rough figure only · `unknown`: relevant, but what
 * it needs was not seen. A step in which a rule is not relevant gives no judgement.
 */
export interface Judgement {
  outcome: 'holds' | 'broken' | 'doubtful' | 'unknown';
  /** Which part of the rule; breaches of one part are one episode. */
  part: string;
  owners: Side[];
}

/** The concrete side of one step. */
export interface Scene {
  reading: Reading;
  facts: Facts;
  before: Facts;
  extractor: Extractor;
}

/** A breach in words and numbers. */
export interface Telling {
  says: string;
  seen: string;
  allowed: string;
  evidence: EvidenceKind;
  confidence: Confidence;
  clause: string | null;
  /** Where it happened, if that is not this step. */
  frame?: number | null;
  at_ns?: number;
  deadline?: { armedFrame: number | null; due_ns: number };
}

export interface Rule {
  id: RuleId;
  class: RuleClass;
  says: string;
  /** Whose duties it names. */
  owners: Side[];
  clause: string;
  /** What a recording must hold for it to be decided. */
  needs: string;
  /** Kinds of observation without which the rule cannot become relevant; absent: the messages suffice. */
  records?: Observation['kind'][];
  figures: Figure[];
  /** A breach of one of these, still standing, is the root of a breach of this. */
  followsFrom: RuleId[];
  /** A situation in which the rule bites, in words. */
  witness: string;
  judge(before: Facts, now: Facts): Judgement[];
  tell(judgement: Judgement, scene: Scene): Telling;
}

export const holds = (part: string): Judgement => ({ outcome: 'holds', part, owners: [] });
export const unknown = (part: string): Judgement => ({ outcome: 'unknown', part, owners: [] });
export const broken = (part: string, ...owners: Side[]): Judgement => ({
  outcome: 'broken',
  part,
  owners,
});
