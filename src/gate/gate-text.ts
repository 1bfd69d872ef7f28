// A gate in text: verdict first, what failed, what drifted, what was judged.
import { countOf, type Check, type Checked, type Problem } from '../report/checks.ts';
import { count, list, sentence } from '../report/figures.ts';
import { heading, paragraph, type Look } from '../report/look.ts';
import { plain } from '../report/plain.ts';
import type { Drift } from './drift.ts';
import type { GateResult } from './gate.ts';

/** More are counted: the JSON has them all. */
const DRIFT_AT_MOST = 30;

export interface GateTextOptions {
  readonly quiet: boolean;
  /** The command that shows it again. */
  readonly again: string;
  /** The file the baseline was written to; null where it was not. */
  readonly updated: string | null;
}

export function gateChecked(result: GateResult, again: string): Checked {
  return {
    command: 'handfast gate',
    verdict: result.verdict,
    says: `${result.project}: ${tally(result.checks)}`,
    checks: result.checks,
    again: result.verdict === 'passed' ? null : again,
  };
}

function tally(checks: readonly Check[]): string {
  const words = (['failed', 'undecided', 'passed', 'skipped'] as const)
    .map((outcome) => [countOf({ checks }, outcome), outcome] as const)
    .filter(([amount]) => amount > 0)
    .map(([amount, outcome]) => `${amount} ${outcome}`);
  return `${count(checks.length, 'check')}${words.length === 0 ? '' : `, ${list(words)}`}`;
}

export function gateText(result: GateResult, look: Look, options: GateTextOptions): string {
  const { verdict, checks, notes } = result;
  const lines = paragraph(look, verdictLine(result, look), 0, 2);
  if (!options.quiet) {
    lines.push('', heading(look, plain(result.project)), '');
    for (const outcome of ['failed', 'undecided'] as const) {
      const own = checks.filter((check) => check.outcome === outcome);
      if (own.length === 0) continue;
      lines.push(look.strong(outcome === 'failed' ? 'Failed' : 'Undecided'));
      lines.push(...own.flatMap((check) => checkLines(check, look)), '');
    }
    lines.push(...driftLines(result, options.updated, look));
    lines.push(look.strong('Judged'), ...suiteLines(checks, look), '');
    for (const note of notes) lines.push(...paragraph(look, `note: ${plain(note)}`, 0, 2));
    if (notes.length > 0) lines.push('');
    lines.push(...paragraph(look, CAUTION).map(look.faint));
  }
  if (verdict !== 'passed')
    lines.push(...(options.quiet ? [] : ['', 'To see it again:']), options.again);
  return `${lines.join('\n')}\n`;
}

const CAUTION =
  'A gate that passes is evidence about recordings and models, never a clearance to energise.';

function verdictLine({ verdict, checks }: GateResult, look: Look): string {
  const failing = checks.filter(({ outcome }) => outcome === 'failed' || outcome === 'undecided');
  const first = failing.find(({ outcome }) => outcome === 'failed') ?? failing[0];
  const more = failing.length > 1 ? `, and ${failing.length - 1} more` : '';
  const why = first === undefined ? '' : `: ${plain(`${first.name} in ${first.suite}`)}${more}`;
  switch (verdict) {
    case 'passed':
      return `${look.verdict.holds('PASSED')}: ${tally(checks)}.`;
    case 'failed':
      return `${look.verdict.broken('FAILED')}${why}.`;
    case 'unreadable':
      return `${look.verdict.unreadable('UNREADABLE')}${why}.`;
    default:
      return `${look.verdict.inconclusive('UNDECIDED')}${why}.`;
  }
}

function checkLines({ suite, name, outcome, says, problems }: Check, look: Look): string[] {
  const mark = outcome === 'failed' ? 'x' : '?';
  return [
    ...paragraph(look, `${mark} ${plain(`${name}, ${suite}`)}`, 2, 4),
    ...paragraph(look, plain(sentence(says)), 6),
    ...problems.flatMap((problem) => [
      ...(name === 'fuzz' ? paragraph(look, plain(problem.says), 6, 8) : []),
      ...stepLines(problem, look),
    ]),
  ];
}

function stepLines({ steps }: Problem, look: Look): string[] {
  // What neither side does (time, messages on their way) is for the code flow, not for the eye.
  const shown = steps.filter(({ side, here }) => side !== null || here);
  return shown.flatMap(({ side, says, here }) => {
    const told = `${here ? '>>' : '- '} ${side === null ? '' : `${side}, `}${plain(says)}`;
    return paragraph(look, told, 6, 10);
  });
}

function driftLines({ drift, baseline }: GateResult, updated: string | null, look: Look): string[] {
  const shown = updated === null ? drift.filter(({ outcome }) => outcome === 'told') : drift;
  if (updated !== null) {
    const what =
      baseline === 'none'
        ? 'there was none before'
        : shown.length === 0
          ? 'nothing is different'
          : count(shown.length, 'difference');
    const head = `The baseline ${plain(updated)} was written: ${what}`;
    return [...paragraph(look, `${head}.`), ...bullets(shown, look), ''];
  }
  if (shown.length === 0) return [];
  return [look.strong('Different from the baseline, and no failure'), ...bullets(shown, look), ''];
}

function bullets(drift: readonly Drift[], look: Look): string[] {
  const lines = drift
    .slice(0, DRIFT_AT_MOST)
    .flatMap(({ where, check, says }) =>
      paragraph(look, plain(`- ${where}, ${check}: ${says}`), 2, 4),
    );
  if (drift.length > DRIFT_AT_MOST) {
    lines.push(`  and ${drift.length - DRIFT_AT_MOST} more (--json has them all)`);
  }
  return lines;
}

/** One line a suite: what it came to. */
function suiteLines(checks: readonly Check[], look: Look): string[] {
  const suites = new Map<string, Check[]>();
  for (const check of checks) suites.set(check.suite, [...(suites.get(check.suite) ?? []), check]);
  return [...suites].flatMap(([suite, own]) => {
    const [only] = own;
    const says = own.length === 1 && only!.outcome === 'passed' ? only!.says : tally(own);
    return paragraph(look, plain(`${suite}: ${says}`), 2, 4);
  });
}
