// What a proof comes to. Text and JSON print it; prove.schema.json is its published form.
import type { Side } from '../../trace/observation.ts';
import type { Coverage } from './coverage.ts';

interface ProveChange {
  what: string;
  to: string;
}

export interface ProveStep {
  /** Seconds since the start, by the ticks of the model. */
  at_s: number;
  what: string;
  /** Who sends a message in this step; null for a step without one. */
  from: Side | null;
  /** The message, in words. */
  message: string | null;
  /** What is different after the step. */
  changes: ProveChange[];
}

/** A shortest way to a breach. */
export interface Counterexample {
  /** Steps of the model, those in which only time passes among them. */
  length: number;
  /** Those that do something. */
  steps: ProveStep[];
  /** The file it was written to as a trace. */
  trace: string | null;
}

export interface RuleProof {
  rule: string;
  /** `vacuous`: not broken, but relevant in no step of any run. */
  verdict: 'holds' | 'broken' | 'vacuous' | 'inconclusive' | 'not modelled';
  reason: string;
  counterexample: Counterexample | null;
}

/**
 * From every state: contactors open, at most 60 V, unlocked; or, behind a contactor that stayed closed, locked and told.
 */
export interface SafeEnd {
  verdict: 'holds' | 'broken' | 'inconclusive';
  /** States from which no safe end can be reached any more; null where that is not known. */
  stuck: number | null;
  /** A shortest way to one of them. */
  counterexample: Counterexample | null;
}

export interface ProveResult {
  schemaVersion: 1;
  protocol: string;
  verdict: 'holds' | 'broken' | 'vacuous' | 'inconclusive';
  /** Whose duties are judged: with one side named, the other may do anything. */
  judged: 'both' | Side;
  /** Faults a run may have. */
  faults: number;
  rules: RuleProof[];
  states: number;
  transitions: number;
  /** Steps to the state furthest away. */
  depth: number;
  seconds: number;
  bytesPerState: number;
  /** The limit that ended the search before its end. */
  stoppedBy: string | null;
  assumes: string[];
  /** States and transitions of both machines that some run took, and those that none took. */
  coverage: Record<Side, Coverage>;
  /** Whether a safe end stays within reach; null where that was not asked. */
  safeEnd: SafeEnd | null;
  /** Rules that the other side can break while the one judged keeps all its duties. */
  residual: string[];
  /** Steps of the model that no run ever took. */
  neverTaken: string[];
}
