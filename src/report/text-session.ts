// One session: who, when, what stages, how it ended, then its findings, margins and gaps.
import type { FileResult, NotObserved, SessionResult, SessionSummary } from '../rules/result.ts';
import { list, seconds, sentence } from './figures.ts';
import { bar, fields, heading, padEnd, padStart, paragraph, type Look } from './look.ts';
import { sessionFacts } from './session-words.ts';
import { divergenceLines } from './text-divergence.ts';
import { findingLines } from './text-findings.ts';
import { ruleTable } from './text-rule-table.ts';
import { sessionSays } from './text-verdict.ts';

/** `full` for a single file; `short` when many are told after one another. */
export type Detail = 'full' | 'short';

export function sessionLines(
  file: FileResult,
  session: SessionResult,
  look: Look,
  detail: Detail,
): string[] {
  const only = detail === 'full' && file.sessions.length === 1;
  const word = look.verdict[session.verdict](session.verdict.toUpperCase());
  const lines = [
    heading(look, `${file.file}, session ${session.id}`),
    // The only session's verdict stands at the top already.
    ...(only ? [] : paragraph(look, `${word}: ${sessionSays(session)}`, 2, 4)),
    ...moreReasons(session).flatMap((reason) => paragraph(look, sentence(reason), 2, 4)),
    '',
    ...fields(look, sessionFacts(file, session), 2),
    '',
  ];
  if (detail === 'full') lines.push(...stageLines(session.summary, look));
  lines.push(...findingLines(session, look));
  const { divergences, notObserved } = session.summary;
  if (detail === 'full') {
    lines.push(...divergenceLines(divergences, look));
    lines.push(...ruleTable(session.rules, new Set(notObserved.map(({ what }) => what)), look));
  }
  lines.push(...notObservedLines(notObserved, look, detail));
  return lines;
}

/** A broken session is told by its findings, another by its reasons, the first of which is its verdict's. */
function moreReasons({ verdict, reasons }: SessionResult): string[] {
  return verdict === 'broken' ? [] : reasons.slice(1);
}

function stageLines({ stages }: SessionSummary, look: Look): string[] {
  if (stages.length === 0) return [];
  const name = Math.max(...stages.map((span) => span.stage.length));
  const whole = stages.reduce((sum, span) => sum + span.duration_s, 0);
  const from = Math.max(...stages.map((span) => seconds(span.from).length));
  const long = Math.max(...stages.map((span) => seconds(span.duration_s).length));
  const columns = Math.min(30, look.width - name - from - long - 21);
  const lines = stages.map((span) => {
    const share = whole > 0 ? span.duration_s / whole : 0;
    const text = `  ${padEnd(span.stage, name)}  from ${padStart(seconds(span.from), from)}  for ${padStart(seconds(span.duration_s), long)}`;
    return columns < 8 ? text : `${text}  ${look.faint(bar(share, columns))}`;
  });
  return [look.strong('Stages'), ...lines, ''];
}

/** Told in short form only when it is why the session was not decided. */
function notObservedLines(missing: NotObserved[], look: Look, detail: Detail): string[] {
  if (missing.length === 0) return [];
  if (detail === 'short') {
    const names = list(missing.map(({ what }) => what));
    return [...paragraph(look, `Not observed: ${names}.`), ''];
  }
  return [
    look.strong('Not observed'),
    ...missing.flatMap(({ what, needs }) => paragraph(look, `${what}: needs ${needs}`, 2, 4)),
    '',
  ];
}
