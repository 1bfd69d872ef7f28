// Quoting is checked by the shells themselves.
import { execFileSync } from 'node:child_process';
import { expect, it } from 'vitest';
import { asOperand, shellCommand, shellQuote } from '../../src/cli/shell.ts';

const words = [
  'plain-1.2_x/y.pcapng',
  'with space',
  "it's",
  '$HOME `id` $(id) "quoted" \\ !',
  '*?[a]~',
  '',
  'Zürich 充電',
  '-n',
];

it.each(words)('sh reads %j back', (word) => {
  const out = execFileSync('sh', ['-c', `printf '%s' ${shellQuote(word)}`]);
  expect(out.toString()).toBe(word);
});

it.each(['\u001b[2Jx', 'new\nline', "tab\tand ' quote \\", 'c1\u009bx', 'over\u202eride'])(
  'bash reads %j back, and printing it is harmless',
  (word) => {
    const quoted = shellQuote(word);
    // oxlint-disable-next-line no-control-regex
    expect(quoted).not.toMatch(/[\u0000-\u001f\u007f-\u009f\u202e]/);
    expect(execFileSync('bash', ['-c', `printf '%s' ${quoted}`]).toString()).toBe(word);
  },
);

it('leaves plain words as they are, and tells a path from an option', () => {
  expect(shellCommand(['handfast', 'replay', asOperand('-x'), asOperand('a b')])).toBe(
    "handfast replay ./-x 'a b'",
  );
});
