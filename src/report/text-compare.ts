// A comparison in text: verdict first, then how the two behave, what the rules say of both, what recordings show, and
// everything that is written differently.
import type { Comparison } from '../search/compare/compare.ts';
import type { Difference } from '../search/compare/difference.ts';
import type { AnswerWords } from '../search/compare/words.ts';
import type { RecordedDivergence } from '../search/compare/recorded.ts';
import { count, list, moment } from './figures.ts';
import { heading, padEnd, paragraph, type Look } from './look.ts';
import { plain } from './plain.ts';
import { counterexampleLines } from './text-counterexample.ts';

/** More are counted: the JSON has them all. */
const CHANGES_AT_MOST = 40;
const RECORDED_AT_MOST = 12;

export interface CompareTextOptions {
  readonly before: string;
  readonly after: string;
  /** The verdict alone. */
  readonly quiet?: boolean;
}

export function compareText(
  result: Comparison,
  look: Look,
  { before, after, quiet }: CompareTextOptions,
): string {
  const lines = paragraph(look, verdictLine(result, look), 0, 2);
  if (quiet !== true) {
    const title = `${result.protocol} ${result.side}: ${plain(before)} → ${plain(after)}`;
    lines.push('', heading(look, title), '');
    lines.push(...behaviourLines(result, look), ...ruleLines(result, look));
    lines.push(...recordedLines(result, look), ...changeLines(result, look));
    lines.push(...paragraph(look, CAUTION).map(look.faint));
  }
  return `${lines.join('\n')}\n`;
}

const CAUTION =
  'A comparison is evidence about two models, never a clearance to put an update into a vehicle.';

function verdictLine({ verdict, reasons, rules }: Comparison, look: Look): string {
  switch (verdict) {
    case 'equivalent':
      return `${look.verdict.holds('EQUIVALENT')}: no sequence of events tells the two apart.`;
    case 'safe': {
      const better = rules.filter((one) => one.after === 'holds').map(({ rule }) => rule);
      const also = better.length === 0 ? '' : `; ${list(better)} holds now`;
      return `${look.verdict.holds('SAFE')}: they behave differently, and no rule's verdict is worse for it${also}.`;
    }
    case 'unsafe':
      return `${look.verdict.broken('UNSAFE')}: ${reasons.map(plain).join('; ')}.`;
    default:
      return `${look.verdict.inconclusive('INCONCLUSIVE')}: ${reasons.map(plain).join('; ')}.`;
  }
}

function behaviourLines({ behaviour }: Comparison, look: Look): string[] {
  const { difference, unshared, pairs, verdict } = behaviour;
  const lines = [look.strong('Behaviour')];
  if (verdict === 'equivalent') {
    const words = `alike in every pair of states they reach together (${count(pairs, 'pair')}, a complete search)`;
    return [...lines, ...paragraph(look, words, 2), ''];
  }
  for (const value of unshared) lines.push(...paragraph(look, plain(value), 2, 4));
  if (difference === null) {
    if (verdict === 'inconclusive') {
      lines.push(...paragraph(look, `no difference in ${count(pairs, 'pair')} of states`, 2));
    }
    return [...lines, ''];
  }
  return [...lines, ...differenceLines(difference, look), ''];
}

function differenceLines({ steps, event, before, after }: Difference, look: Look): string[] {
  if (event === null) {
    return [
      ...paragraph(look, 'they differ before any event:', 2),
      ...answerLines('before', before, look),
      ...answerLines('after', after, look),
    ];
  }
  const head =
    steps.length === 0
      ? 'the first event tells them apart:'
      : `alike for ${count(steps.length, 'event')}, then not; no shorter sequence tells them apart:`;
  const width = String(steps.length + 1).length;
  const numbered = (text: string, index: number): string[] => {
    const number = String(index + 1);
    return paragraph(look, `${number}  ${plain(text)}`, 2 + width - number.length, width + 4);
  };
  return [
    ...paragraph(look, head, 2),
    ...steps.flatMap(({ event: on, answer }, index) =>
      numbered(`${on}${said(answer).length === 0 ? '' : `: ${said(answer).join(', ')}`}`, index),
    ),
    ...numbered(event, steps.length),
    ...answerLines('before', before, look),
    ...answerLines('after', after, look),
  ];
}

const said = ({ sends, drives }: AnswerWords): string[] => [
  ...sends.map((one) => `sends ${one}`),
  ...drives.map((one) => `drives ${one}`),
];

function answerLines(who: string, answer: AnswerWords, look: Look): string[] {
  const all = [...said(answer), ...answer.timers];
  const words = `${all.length === 0 ? 'does nothing' : all.join(', ')}; then ${answer.state}`;
  return paragraph(look, `${padEnd(who, 6)}  ${plain(words)}`, 6, 14);
}

function ruleLines({ proofs, rules, unchanged }: Comparison, look: Look): string[] {
  if (proofs === null) return [];
  const { before, after } = proofs;
  const searched = (of: typeof before): string =>
    `${count(of.states, 'state')}${of.stoppedBy === null ? '' : `, stopped by ${of.stoppedBy}`}`;
  const effort = `before ${searched(before)}, after ${searched(after)}`;
  const lines = [
    `${look.strong('Rules')} (each version proved with its peer: ${effort})`,
    ...rules.map(({ rule, before: was, after: now }) => `  ${rule}: ${was} → ${now}`),
  ];
  for (const verdict of new Set(unchanged.map((one) => one.verdict))) {
    const names = unchanged.filter((one) => one.verdict === verdict).map(({ rule }) => rule);
    lines.push(...paragraph(look, `as before, ${verdict}: ${names.join(', ')}`, 2, 4));
  }
  lines.push('');
  for (const { rule, counterexample } of rules) {
    if (counterexample !== null) lines.push(...counterexampleLines(rule, counterexample, look), '');
  }
  return lines;
}

function recordedLines({ recorded }: Comparison, look: Look): string[] {
  const { files, sessions, nowDiverge, nowExplained, unexplained } = recorded;
  if (files === 0) return [];
  const seen = `${count(files, 'file')}, ${count(sessions, 'session')} of the protocol`;
  return [
    `${look.strong('Recordings')} (${seen})`,
    ...divergenceLines('no longer explained', nowDiverge, look),
    ...divergenceLines('explained only now', nowExplained, look),
    ...(nowDiverge.length + nowExplained.length === 0 ? ['  none is explained by one alone'] : []),
    ...(unexplained > 0
      ? paragraph(look, `${count(unexplained, 'session')} neither explains: no evidence`, 2)
      : []),
    '',
  ];
}

function divergenceLines(title: string, all: readonly RecordedDivergence[], look: Look): string[] {
  if (all.length === 0) return [];
  const lines = [`  ${title}`];
  for (const { file, session, frame, at, message, excluded } of all.slice(0, RECORDED_AT_MOST)) {
    const where = `${file}, ${session}, ${moment(frame, at)}`;
    lines.push(...paragraph(look, plain(`${where}: ${message}, ${excluded}`), 4, 6));
  }
  if (all.length > RECORDED_AT_MOST) {
    lines.push(`    and ${all.length - RECORDED_AT_MOST} more (--json has them all)`);
  }
  return lines;
}

function changeLines({ changes }: Comparison, look: Look): string[] {
  const lines = [`${look.strong('Written differently')} (${count(changes.length, 'change')})`];
  for (const { kind, what, where, says } of changes.slice(0, CHANGES_AT_MOST)) {
    const told = says === '' || says === where ? where : `${where}: ${says}`;
    lines.push(...paragraph(look, plain(`${padEnd(kind, 7)}  ${what} ${told}`), 2, 11));
  }
  if (changes.length > CHANGES_AT_MOST) {
    lines.push(`  and ${changes.length - CHANGES_AT_MOST} more (--json has them all)`);
  }
  if (changes.length === 0) lines.push('  nothing');
  return [...lines, ''];
}
