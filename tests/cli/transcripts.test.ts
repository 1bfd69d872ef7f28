// Runs the sessions written down in *.md and in the README: in every ```console block, a line `$ handfast …` (its standard input in a
// heredoc, `> ` before each line), what it prints (stdout, then stderr), and `[exit N]`. A line `…` stands for any
// number of lines, `…` within a line for any text. A failing test's name is its place: file.md:line.
import { readdirSync, readFileSync } from 'node:fs';
import { basename, resolve } from 'node:path';
import { describe, expect, it } from 'vitest';
import { run } from '../../src/cli/run.ts';
import { fakeIo } from './fake-io.ts';

interface Step {
  line: number;
  argv: string[];
  stdin: string;
  expected: string[];
  exit: number;
}

const FOLDER = import.meta.dirname;
const README = resolve(FOLDER, '../../README.md');

const files = readdirSync(FOLDER).filter((one) => one.endsWith('.md'));
for (const path of [README, ...files.map((one) => resolve(FOLDER, one))]) {
  const name = basename(path);
  describe(name, () => {
    for (const step of stepsOf(readFileSync(path, 'utf8'))) {
      it(`${name}:${step.line} handfast ${step.argv.join(' ')}`, () => check(step));
    }
  });
}

async function check(step: Step): Promise<void> {
  const fake = fakeIo({ stdin: step.stdin });
  const code = await run(step.argv, fake.io);
  const printed = `${fake.stdout()}${fake.stderr()}`.split('\n');
  printed.pop();
  const missing = firstMissing(step.expected, printed);
  expect(missing === null ? '' : `missing: ${missing}\n\n${printed.join('\n')}`).toBe('');
  expect(code).toBe(step.exit);
}

/** The first line written down for which nothing printed stands; null when all is as written. */
function firstMissing(expected: string[], printed: string[]): string | null {
  let at = 0;
  let loose = false;
  for (const line of expected) {
    if (line.trim() === '…') {
      loose = true;
      continue;
    }
    const found = loose ? printed.findIndex((one, index) => index >= at && alike(line, one)) : at;
    if (found < 0 || found >= printed.length || !alike(line, printed[found]!)) return line;
    at = found + 1;
    loose = false;
  }
  return loose || at === printed.length ? null : '(the end)';
}

function alike(expected: string, printed: string): boolean {
  const pieces = expected.split('…').map((piece) => piece.replace(/[\\^$.*+?()[\]{}|]/g, '\\$&'));
  return new RegExp(`^${pieces.join('.*')}$`).test(printed);
}

function stepsOf(text: string): Step[] {
  const steps: Step[] = [];
  let inside = false;
  for (const [index, line] of text.split('\n').entries()) {
    const step = steps.at(-1);
    if (line.startsWith('```')) inside = line === '```console';
    else if (!inside) continue;
    else if (line.startsWith('$ handfast ')) steps.push(stepOf(line.slice(11), index + 1));
    else if (step === undefined) throw new Error(`line ${index + 1}: output before any command`);
    else if (/^\[exit \d+\]$/.test(line)) step.exit = Number(line.slice(6, -1));
    else if (line.startsWith('> ')) step.stdin += line === '> END' ? '' : `${line.slice(2)}\n`;
    else step.expected.push(line);
  }
  const open = steps.find((step) => Number.isNaN(step.exit));
  if (open !== undefined) throw new Error(`line ${open.line}: no [exit N] after it`);
  return steps;
}

function stepOf(command: string, line: number): Step {
  const words = command.replace(/ <<END$/, '').matchAll(/'([^']*)'|(\S+)/g);
  const argv = [...words].map(([, quoted, bare]) => quoted ?? bare!);
  return { line, argv, stdin: '', expected: [], exit: Number.NaN };
}

it('finds sessions to run', () => {
  expect(files.length).toBeGreaterThan(2);
  expect(stepsOf(readFileSync(README, 'utf8')).length).toBeGreaterThan(0);
});
