// The message sequence of a session.
import { createHash } from 'node:crypto';
import type { SessionResult } from '../../rules/result.ts';
import { count, seconds, sentence } from '../figures.ts';
import { sequenceMermaid } from './mermaid.ts';
import { sequenceRows, type SequenceRow } from './sequence-rows.ts';
import type { RecordedSequence } from './sequence-steps.ts';
import { sequenceSvg } from './sequence-svg.ts';
import type { Theme } from './theme.ts';

export interface SequenceInput {
  /** Name of the recording. */
  readonly file: string;
  readonly session: SessionResult;
  readonly recorded: RecordedSequence;
}

/** The rows of a session's sequence, for whoever shows them otherwise. */
export function rowsOf({ session, recorded }: SequenceInput): SequenceRow[] {
  const rows = sequenceRows(recorded.steps, session.findings);
  if (recorded.omitted === 0) return rows;
  const says = `${count(recorded.omitted, 'later step')} not kept`;
  return [...rows, { kind: 'omitted', says }];
}

/** The sequence of a session as SVG. */
export function drawSequence(input: SequenceInput, theme: Theme = 'auto'): string {
  const { file, session } = input;
  const rows = rowsOf(input);
  const key = JSON.stringify([file, session.id, theme, rows]);
  return sequenceSvg(rows, {
    id: `sequence-${createHash('sha256').update(key).digest('hex').slice(0, 10)}`,
    theme,
    title: titleOf(input),
    subtitles: headOf(session),
    foot: ['✕ breach · ? suspected or a difference · a bracket: the same exchange again and again'],
  });
}

/** The same as Mermaid text. */
export function sequenceText(input: SequenceInput): string {
  return sequenceMermaid(`${titleOf(input)}. ${headOf(input.session).join(' ')}`, rowsOf(input));
}

function titleOf({ file, session }: SequenceInput): string {
  return `${file}, session ${session.id}`;
}

/** What the session came to, above its messages. */
function headOf(session: SessionResult): string[] {
  const { protocol, verdict, summary, from, to, findings } = session;
  const matching =
    summary.matching === null
      ? 'matching not in the recording'
      : `matching from ${seconds(summary.matching.from)} to ${seconds(summary.matching.to)}`;
  const length = `${seconds(to - from)}, ${count(summary.messages, 'message')}`;
  const told = findings.length === 0 ? 'no findings' : count(findings.length, 'finding');
  return [`${protocol}, ${length}, ${matching}.`, sentence(`${verdict}: ${told}`)];
}
