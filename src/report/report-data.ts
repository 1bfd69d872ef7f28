// What a report is made of, and what of it is written into the page.
import { ruleCatalogue } from '../rules/catalogue.ts';
import type { FileResult, Result } from '../rules/result.ts';
import { worstVerdict } from '../rules/verdicts.ts';
import type { ProveResult } from '../search/prove/prove-result.ts';
import { Pseudonyms } from './pseudonyms.ts';
import { sessionSays, verdictSays } from './text-verdict.ts';
import { packTimeline } from './timeline/pack-timeline.ts';
import type { PackedTimeline, Timeline } from './timeline/timeline.ts';

/** One recording: what the replay says of it, and for each session what is shown of it over time. */
export interface ReportFile {
  result: FileResult;
  timelines: (Timeline | null)[];
}

/** What `writeReport` is given: by replay, simulate, fuzz and gate files, by prove a proof. */
export interface ReportInput {
  /** `3 simulated sessions`; absent: the names of the files. */
  title?: string;
  /** What it all came to, in a sentence without its verdict; absent: as the files have it. */
  says?: string;
  files: ReportFile[];
  proof?: ProveResult | null;
  /** The command that shows it again. */
  again?: string | null;
  /** Identifiers stay as they are. */
  identities?: boolean;
  /** Drawings to show, as SVG of this project's own making. */
  drawings?: { title: string; svg: string }[];
}

export interface ReportRule {
  id: string;
  says: string;
  clause: string;
  owners: string[];
}

/** The part of the data that the page reads at once; a session's timeline is read when it is looked at. */
export interface ReportData {
  title: string;
  says: string;
  result: Result;
  /** For each file, for each session: its verdict in one sentence, and whether a timeline is there. */
  sessions: { says: string; timeline: boolean }[][];
  rules: ReportRule[];
  proof: ProveResult | null;
  again: string | null;
  identities: boolean;
  drawings: { title: string; svg: string }[];
}

export interface ReportParts {
  data: ReportData;
  timelines: { file: number; session: number; timeline: PackedTimeline }[];
}

export function reportParts(input: ReportInput): ReportParts {
  const pseudonyms = new Pseudonyms(input.identities ?? false);
  // Messages first: they tell what the identifiers are that texts may repeat.
  const timelines = input.files.flatMap(({ timelines: own }, file) =>
    own.flatMap((timeline, session) =>
      timeline === null ? [] : [{ file, session, timeline: packTimeline(timeline, pseudonyms) }],
    ),
  );
  const files = input.files.map(({ result }) => pseudonyms.deep(result));
  // Nothing looked at holds nothing.
  const verdict = files.length === 0 ? 'inconclusive' : worstVerdict(files);
  const result: Result = { schemaVersion: 1, verdict, files };
  const proof = input.proof ?? null;
  const data: ReportData = {
    title: input.title ?? titleOf(files),
    says: input.says ?? (proof === null ? verdictSays(result) : proofSays(proof)),
    result,
    sessions: files.map((file, index) =>
      file.sessions.map((session, at) => ({
        says: sessionSays(session),
        timeline: (input.files[index]!.timelines[at] ?? null) !== null,
      })),
    ),
    rules: ruleCatalogue.map(({ id, says, clause, owners }) => ({ id, says, clause, owners })),
    proof,
    again: input.again ?? null,
    identities: input.identities ?? false,
    drawings: input.drawings ?? [],
  };
  return { data, timelines };
}

function titleOf(files: readonly FileResult[]): string {
  if (files.length === 0) return 'no recording';
  if (files.length === 1) return files[0]!.file;
  return `${files.length} recordings`;
}

function proofSays({ rules, verdict, states, stoppedBy, protocol }: ProveResult): string {
  const broken = rules.filter((rule) => rule.verdict === 'broken').map(({ rule }) => rule);
  if (broken.length > 0) {
    return `some sequence of ${protocol} breaks ${broken.join(', ')}; a shortest one of each is told below.`;
  }
  if (verdict === 'holds') {
    return `no sequence of ${protocol} breaks a modelled rule, in all ${states} states that can be reached under the assumptions below.`;
  }
  return stoppedBy === null
    ? `a rule never became relevant in ${states} states of ${protocol}.`
    : `not decided: the search of ${protocol} stopped after ${states} states (${stoppedBy}).`;
}
