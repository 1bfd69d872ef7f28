// A project file: what a gate judges. project.schema.json is its published form.
import type { Verdict } from '../rules/result.ts';

export interface Project {
  $schema?: string;
  /** As its people call it. */
  name: string;
  /** Both sides of a protocol, proved together. */
  machines?: ProjectMachines[];
  /** Recordings that must replay as recorded. */
  traces?: ProjectTraces[];
  limits?: ProjectLimits;
  /** Random sessions of each of the machines, seeded by the commit. */
  fuzz?: ProjectFuzz;
  /** Findings that are known and do not fail the gate until their day is over. */
  accepted?: Accepted[];
  /** How far a margin may shrink from the baseline, as a share of its limit. */
  marginShrink?: number;
  /** A crash signal must open the pack within this. */
  crashDeadline_ms?: number;
  /** Where the baseline is kept, from the project file's folder. */
  baseline?: string;
}

export interface ProjectMachines {
  protocol: 'din70121' | 'iso15118-2';
  /** A file, from the project file's folder; left out: the bundled machine. */
  vehicle?: string;
  charger?: string;
  /** Faults a run may have, 0 to 2. */
  faults?: number;
}

export interface ProjectTraces {
  /** A recording or a folder of them, from the project file's folder. */
  path: string;
  /** What every one of them must come to; left out: what the baseline says. */
  verdict?: Verdict;
}

interface ProjectLimits {
  states?: number;
  memory_MB?: number;
  time_s?: number;
}

export interface ProjectFuzz {
  runs?: number;
  time_s?: number;
}

export interface Accepted {
  /** The name of the check: a rule, `coverage`, `replay`. */
  check: string;
  /** The recording, or the protocol of the proof; left out: anywhere. */
  in?: string;
  reason: string;
  /** The last day it is accepted, `2027-01-31`. */
  until: string;
}

/** A project with its types checked by the editor; returns it as it is. */
export function defineProject(project: Project): Project {
  return project;
}

export const DEFAULTS = {
  limits: { states: 50_000_000, memory_MB: 2048, time_s: 600 },
  marginShrink: 0.05,
  crashDeadline_ms: 100,
  baseline: 'handfast.baseline.json',
} as const;
