// Checks as JUnit XML, in the form that CI servers agree on: suites of cases, each with a failure, an error or a skip.
// There is no published standard of it; `common practice`.
import { XMLBuilder } from 'fast-xml-parser';
import type { Check, Checked } from './checks.ts';
import { countOf } from './checks.ts';
import { plain } from './plain.ts';

type Node = { [name: string]: string | number | Node | Node[] };

const ATTRIBUTE = '@';

export function junit(checked: Checked): string {
  const suites = new Map<string, Check[]>();
  for (const check of checked.checks) {
    suites.set(check.suite, [...(suites.get(check.suite) ?? []), check]);
  }
  const builder = new XMLBuilder({
    ignoreAttributes: false,
    attributeNamePrefix: ATTRIBUTE,
    format: true,
    suppressEmptyNode: true,
    suppressBooleanAttributes: false,
  });
  const document: Node = {
    '?xml': attributes({ version: '1.0', encoding: 'UTF-8' }),
    testsuites: {
      ...attributes({ name: checked.command, ...counts(checked.checks) }),
      testsuite: [...suites].map(([name, checks]) => ({
        ...attributes({ name, ...counts(checks) }),
        testcase: checks.map(testCase),
      })),
    },
  };
  return `${builder.build(document).trimEnd()}\n`;
}

function counts(checks: readonly Check[]): Record<string, number> {
  return {
    tests: checks.length,
    failures: countOf({ checks }, 'failed'),
    errors: countOf({ checks }, 'undecided'),
    skipped: countOf({ checks }, 'skipped'),
  };
}

function testCase({ suite, name, outcome, says, problems }: Check): Node {
  const head = attributes({ classname: suite, name });
  if (outcome === 'passed') return head;
  if (outcome === 'skipped') return { ...head, skipped: attributes({ message: says }) };
  const lines = problems.flatMap((problem) => [
    [problem.where, problem.says].filter((part) => part !== '').join(': '),
    ...problem.steps.map((step) => `  ${step.here ? '>>' : '  '} ${step.side ?? ''} ${step.says}`),
  ]);
  const told: Node = {
    ...attributes({ message: says, type: name }),
    '#text': lines.map(characters).join('\n'),
  };
  return { ...head, [outcome === 'failed' ? 'failure' : 'error']: told };
}

function attributes(all: Readonly<Record<string, string | number>>): Node {
  return Object.fromEntries(
    Object.entries(all).map(([name, value]) => [
      `${ATTRIBUTE}${name}`,
      typeof value === 'string' ? characters(value) : value,
    ]),
  );
}

/** What is no character of XML 1.0, escaped or not (2.2), is spelt: controls, half surrogates, U+FFFE and U+FFFF. */
function characters(text: string): string {
  return plain(text).replaceAll('\ufffe', '\\ufffe').replaceAll('\uffff', '\\uffff');
}
