// One session: who, when, what stages, how it ended, then its findings, margins and gaps.
import type { FileResult, NotObserved, SessionResult, SessionSummary } from '../rules/result.ts';
import { count, energy, figure, list, seconds, sentence } from './figures.ts';
import { bar, fields, heading, padEnd, padStart, paragraph, type Look } from './look.ts';
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
    ...fields(look, facts(file, session), 2),
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

function facts(file: FileResult, session: SessionResult): [string, string][] {
  const { summary } = session;
  const start = file.epoch === null ? seconds(session.from) : wallClock(file.epoch, session.from);
  const pieces = [
    summary.seenFromStart ? '' : 'starts inside it',
    summary.seenToEnd ? '' : 'ends inside it',
  ].filter((piece) => piece !== '');
  const seen = pieces.length > 0 ? `; the recording ${list(pieces)}` : '';
  return [
    ['protocol', session.protocol],
    ['vehicle', session.vehicle ?? 'address not in the recording'],
    ['charger', session.charger ?? 'address not in the recording'],
    [
      'time',
      `${start}, ${seconds(session.to - session.from)} long, ${count(summary.messages, 'message')}${seen}`,
    ],
    ['matching', matching(summary)],
    ['power', power(summary)],
    ['ended', ended(summary)],
  ];
}

function matching({ matching: slac }: SessionSummary): string {
  if (slac === null) return 'SLAC not in the recording';
  const came = slac.matched ? 'SLAC matched' : 'SLAC without a match';
  const run = slac.runId === null ? '' : `, run ${slac.runId}`;
  return `${came}, from ${seconds(slac.from)} to ${seconds(slac.to)}${run}`;
}

function power(summary: SessionSummary): string {
  const { energy_Wh, highestVoltage_V, highestCurrent_A, stateOfCharge } = summary;
  const moved =
    energy_Wh === null ? 'energy not observed' : energy_Wh === 0 ? 'no energy' : energy(energy_Wh);
  const parts = [
    moved,
    highestVoltage_V === null ? 'voltage not observed' : `at most ${figure(highestVoltage_V)} V`,
    highestCurrent_A === null ? 'current not observed' : `at most ${figure(highestCurrent_A)} A`,
    stateOfCharge === null
      ? 'state of charge not observed'
      : `state of charge ${figure(stateOfCharge.from_percent)} % → ${figure(stateOfCharge.to_percent)} %`,
  ];
  return parts.join(', ');
}

function ended({ ended: { by, how } }: SessionSummary): string {
  if (by === null) return how;
  return `by the ${by}: ${how}`;
}

/** Wall-clock time to the millisecond, in UTC; the epoch as it is if it cannot be read as a time. */
function wallClock(epoch: string, at: number): string {
  const start = Date.parse(epoch);
  if (Number.isNaN(start)) return `${epoch} + ${seconds(at)}`;
  const time = new Date(start + at * 1000);
  if (Number.isNaN(time.getTime())) return `${epoch} + ${seconds(at)}`;
  return `${time.toISOString().replace('T', ' ').replace('Z', '')} UTC`;
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
