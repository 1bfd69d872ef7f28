// The one result object. Text, JSON and every other printer read it; result.schema.json is its published form.
import type { Confidence } from '../facts/figures.ts';
import type { EvidenceKind } from '../facts/evidence.ts';
import type { Side } from '../trace/observation.ts';

export type Verdict = 'broken' | 'unreadable' | 'inconclusive' | 'holds';

export type RuleClass = 'safety' | 'conformance';

/** `vacuous`: the rule never became relevant; `suspected`: broken only beyond a figure of low confidence. */
export type RuleVerdict =
  'broken' | 'suspected' | 'holds' | 'not observed' | 'inconclusive' | 'vacuous';

export interface Margin {
  /** How close it came. */
  value: number;
  limit: number;
  unit: string;
  frame: number | null;
  /** Seconds from the file's epoch. */
  at: number;
}

export interface RuleResult {
  rule: string;
  class: RuleClass;
  verdict: RuleVerdict;
  /** Why, in words; for `not observed` what would be needed. */
  reason: string;
  margin: Margin | null;
}

export interface Deadline {
  armedFrame: number | null;
  /** Seconds from the file's epoch at which it ran out. */
  due_s: number;
}

export interface Finding {
  /** Unique within its session: `F1`, `F2`, … in the order told. */
  id: string;
  rule: string;
  class: RuleClass;
  status: 'breach' | 'suspected' | 'difference';
  owners: Side[];
  frame: number | null;
  /** Seconds from the file's epoch. */
  at: number;
  deadline: Deadline | null;
  evidence: EvidenceKind;
  confidence: Confidence;
  clause: string | null;
  /** The id of the finding this one follows from; null for a root. */
  causedBy: string | null;
  /** One sentence: who did what, by how much. */
  says: string;
  /** What was seen, and what would have been allowed instead. */
  seen: string;
  allowed: string;
  /** The messages around it, enough to understand it without opening the capture. */
  window: WindowLine[];
}

/** One message as a finding shows it. */
export interface WindowLine {
  frame: number | null;
  /** Seconds from the file's epoch. */
  at: number;
  from: Side;
  name: string;
  /** The fields that matter, in words: `asks 180 A at 400 V`. */
  says: string;
  /** This is the message the finding is about. */
  here: boolean;
  /** Messages left out between the line before and this one. */
  omitted: number;
}

export interface StageSpan {
  stage: string;
  /** Seconds from the file's epoch. */
  from: number;
  to: number;
  duration_s: number;
}

/** Something a rule needed and the recording does not hold. */
export interface NotObserved {
  what: string;
  needs: string;
}

/** Where one side's behaviour left what its machine allows. */
export interface Divergence {
  side: Side;
  frame: number | null;
  at: number;
  message: string;
  /** Messages of this side explained before it, in a row. */
  explained: number;
  /** Stages the machine could have been in. */
  states: string[];
  /** What it could have sent instead, each with the guard or timer that decided. */
  allowed: string[];
  /** What excluded it: the order of messages, a timer that had run out, or a guard on a message's facts. */
  because: 'order' | 'timer' | 'guard';
  /** Why this one was excluded. */
  excluded: string;
}

/** The SLAC match the session rests on (ISO 15118-3, Annex A). */
export interface Matching {
  runId: string | null;
  /** Seconds from the file's epoch: first and last SLAC message of the vehicle. */
  from: number;
  to: number;
  /** CM_SLAC_MATCH.CNF was seen. */
  matched: boolean;
}

export interface SessionSummary {
  messages: number;
  matching: Matching | null;
  stages: StageSpan[];
  energy_Wh: number | null;
  highestVoltage_V: number | null;
  highestCurrent_A: number | null;
  stateOfCharge: { from_percent: number; to_percent: number } | null;
  ended: { by: Side | 'link' | null; how: string };
  /** First and last observation of the session belong to its true start and end. */
  seenFromStart: boolean;
  seenToEnd: boolean;
  notObserved: NotObserved[];
  divergences: Divergence[];
}

export interface SessionResult {
  id: string;
  protocol: string;
  /** Address of the side, or null when not in the recording. */
  vehicle: string | null;
  charger: string | null;
  /** Seconds from the file's epoch. */
  from: number;
  to: number;
  verdict: Verdict;
  /** Why not `holds`, in words; empty when it holds. */
  reasons: string[];
  summary: SessionSummary;
  rules: RuleResult[];
  findings: Finding[];
}

export interface FileResult {
  file: string;
  /** Wall-clock time of second 0. */
  epoch: string | null;
  verdict: Verdict;
  reasons: string[];
  sessions: SessionResult[];
}

export interface Result {
  schemaVersion: 1;
  verdict: Verdict;
  files: FileResult[];
}
