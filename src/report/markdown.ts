// Checks as a short summary in Markdown, for a pull request: what failed first, the rest counted.
import { countOf, type Check, type Checked, type Problem } from './checks.ts';
import { count } from './figures.ts';
import { plain } from './plain.ts';

/** A comment that nobody reads to its end helps nobody. */
const TOLD_AT_MOST = 20;
const STEPS_AT_MOST = 40;

const TITLES = { failed: 'Failed', undecided: 'Undecided' } as const;

export function markdown(checked: Checked): string {
  const lines = [
    `## ${escaped(checked.command)}: ${escaped(checked.verdict)}`,
    '',
    `${escaped(checked.says)}.`,
    '',
    ...tally(checked),
    '',
  ];
  for (const outcome of ['failed', 'undecided'] as const) {
    const checks = checked.checks.filter((check) => check.outcome === outcome);
    if (checks.length === 0) continue;
    lines.push(`### ${TITLES[outcome]}`, '');
    lines.push(...checks.slice(0, TOLD_AT_MOST).flatMap(checkLines));
    if (checks.length > TOLD_AT_MOST) lines.push(`- and ${checks.length - TOLD_AT_MOST} more`);
    lines.push('');
  }
  if (checked.again !== null) {
    lines.push(
      'To see it again:',
      '',
      '```sh',
      plain(checked.again).replaceAll('```', "'''"),
      '```',
      '',
    );
  }
  lines.push('`holds` is evidence about recordings and models, never a clearance to energise.');
  return `${lines.join('\n')}\n`;
}

function tally(checked: Checked): string[] {
  const outcomes = ['failed', 'undecided', 'passed', 'skipped'] as const;
  return [
    `| ${outcomes.join(' | ')} |`,
    `| ${outcomes.map(() => '---:').join(' | ')} |`,
    `| ${outcomes.map((outcome) => countOf(checked, outcome)).join(' | ')} |`,
  ];
}

function checkLines({ suite, name, says, problems }: Check): string[] {
  return [
    `- **${escaped(name)}** in ${escaped(suite)}: ${escaped(says)}`,
    ...problems.flatMap(stepLines),
  ];
}

function stepLines({ steps }: Problem): string[] {
  if (steps.length === 0) return [];
  const shown = steps.slice(-STEPS_AT_MOST);
  const left = steps.length - shown.length;
  return [
    `  <details><summary>the way there (${count(steps.length, 'step')})</summary>`,
    '',
    ...(left > 0 ? [`  - ${count(left, 'step')} before`] : []),
    ...shown.map(({ side, says, here }) => {
      const told = `${side === null ? '' : `${side}: `}${says}`;
      return `  - ${here ? `**${escaped(told)}**` : escaped(told)}`;
    }),
    '',
    '  </details>',
  ];
}

/** Words of a recording stay words: no markup, no links, nobody is addressed. */
function escaped(text: string): string {
  return plain(text)
    .replace(/[\\`*_[\]|~]/g, '\\$&')
    .replaceAll('&', '&amp;')
    .replaceAll('<', '&lt;')
    .replaceAll('>', '&gt;')
    .replaceAll('#', '&#35;')
    .replaceAll('@', '&#64;')
    .replaceAll('://', ':&#47;&#47;');
}
