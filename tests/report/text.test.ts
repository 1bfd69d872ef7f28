// The text is judged by what a reader needs from it: each thing there, in order, within the width, harmless.
import stringWidth from 'string-width';
import { describe, expect, it } from 'vitest';
import type { Result } from '../../src/rules/result.ts';
import { lookOf } from '../../src/report/look.ts';
import { text } from '../../src/report/text.ts';
import {
  broken,
  file,
  finding,
  held,
  heldSession,
  many,
  result,
  session,
  undecided,
  unreadable,
} from './sample.ts';

const again = "handfast replay --strict 'quay/shuttle 7.pcapng'";
const plainText = (of: Result, width = 80): string => text(of, lookOf(width, false), { again });

describe('a broken session', () => {
  const told = plainText(broken);

  it('is told as it was agreed on', async () => {
    await expect(told).toMatchFileSnapshot('data/broken-80.txt');
  });

  it('has its verdict first, in one sentence', () => {
    const [first] = told.split('\n\n');
    expect(first!.replace(/\s+/g, ' ')).toBe(
      'BROKEN: the charger broke within-limits at frame 123 (9.841 s): ' +
        "the charger delivered 131 A, 6 A over the vehicle's limit of 125 A.",
    );
  });

  it('ends in the command that shows it again, on a line of its own', () => {
    expect(told.endsWith(`\n${again}\n`)).toBe(true);
  });

  it('holds everything a finding says', () => {
    const flat = told.replace(/\s+/g, ' ');
    const { says: _says, ...one } = finding();
    for (const piece of [one.clause!, one.seen, one.allowed, 'confirmed', 'reported']) {
      expect(flat).toContain(piece);
    }
  });

  it('marks the line the finding is about, and only that', () => {
    const marked = told.split('\n').filter((line) => line.includes('>>'));
    expect(marked).toHaveLength(1);
    expect(marked[0]).toMatch(/>>\s+123\s+0\.000 s\s+charger CurrentDemandRes/);
  });

  it('tells consequences beneath their root, further in', () => {
    const lines = told.split('\n');
    const root = lines.findIndex((line) => /^ {2}F1 /.test(line));
    const consequence = lines.findIndex((line) => /^ {8}F2 /.test(line));
    expect(root).toBeGreaterThan(0);
    expect(consequence).toBeGreaterThan(root);
  });

  it('puts conformance after safety', () => {
    expect(told.indexOf('Conformance (secondary)')).toBeGreaterThan(told.indexOf('Findings'));
    expect(told.indexOf('F3')).toBeGreaterThan(told.indexOf('F2'));
  });

  it('never calls a session safe, and tells what holds means only where something holds', () => {
    expect(told).not.toContain('clearance');
    expect(plainText(held)).toContain('not a clearance to energise');
    expect(plainText(many)).toContain('not a clearance to energise');
    for (const one of [broken, held, many]) expect(plainText(one)).not.toMatch(/\bis safe\b/i);
  });
});

it.each([
  ['held', held],
  ['undecided', undecided],
  ['unreadable', unreadable],
  ['many', many],
] as const)('%s is told as it was agreed on', async (name, one) => {
  await expect(plainText(one)).toMatchFileSnapshot(`data/${name}-80.txt`);
});

describe.each([60, 72, 80, 120])('at %d columns', (width) => {
  it.each([broken, held, undecided, unreadable, many].map((one) => [one.verdict, one] as const))(
    'no line of a result that is %s is wider',
    (_verdict, one) => {
      const lines = text(one, lookOf(width, false)).split('\n');
      expect(lines.filter((line) => stringWidth(line) > width)).toEqual([]);
    },
  );
});

it('colour adds nothing that is not there without it', () => {
  const escapes = new RegExp(`${String.fromCharCode(27)}\\[[0-9;]*m`, 'g');
  for (const one of [broken, held, undecided, unreadable, many]) {
    const painted = text(one, lookOf(80, true), { again });
    expect(painted).not.toBe(plainText(one));
    expect(painted.replace(escapes, '')).toBe(plainText(one));
  }
});

it('is quiet when asked: the verdict and the command', () => {
  const lines = text(broken, lookOf(120, false), { quiet: true, again }).trimEnd().split('\n');
  expect(lines.at(-1)).toBe(again);
  expect(lines.length).toBeLessThanOrEqual(3);
});

describe('hostile strings', () => {
  const escape = String.fromCharCode(27);
  const csi = String.fromCharCode(0x9b);
  const override = String.fromCharCode(0x202e);
  const nasty = `${escape}[2J${escape}]0;own${String.fromCharCode(7)}${csi}31m\rHOLDS${override}\n`;

  it('do nothing to a terminal wherever they stand', () => {
    const poisoned = poison(many) as Result;
    const told = text(poisoned, lookOf(80, false));
    // oxlint-disable-next-line no-control-regex
    expect(told).not.toMatch(/[\u0000-\u0009\u000b-\u001f\u007f-\u009f\u202a-\u202e]/);
    expect(told).toContain('\\u001b');
  });

  /** Every string of the result with the nasty text at its end, but for the words the printer switches on. */
  function poison(value: unknown, key = ''): unknown {
    const words = ['verdict', 'class', 'status', 'side', 'by', 'evidence', 'confidence', 'because'];
    if (typeof value === 'string') return words.includes(key) ? value : value + nasty;
    if (Array.isArray(value)) return value.map((one) => poison(one, key));
    if (typeof value !== 'object' || value === null) return value;
    return Object.fromEntries(
      Object.entries(value).map(([name, inner]) => [name, poison(inner, name)]),
    );
  }
});

describe('much of everything', () => {
  it('stays readable with thousands of findings', () => {
    const findings = Array.from({ length: 5000 }, (_, index) =>
      finding({ id: `F${index + 1}`, class: index % 2 ? 'conformance' : 'safety' }),
    );
    const told = plainText(result(file('a.pcapng', [session({ findings })])));
    expect(told.split('\n').length).toBeLessThan(600);
    expect(told).toContain('and 2480 more findings; --json lists them all');
    expect(told).toContain('and 2488 more findings; --json lists them all');
  });

  it('a ring of causes does not hang, a chain of them is told to a depth', () => {
    const ring = [
      finding({ id: 'F1', causedBy: 'F2' }),
      finding({ id: 'F2', causedBy: 'F1' }),
      finding({ id: 'F3' }),
      ...Array.from({ length: 100 }, (_, index) =>
        finding({ id: `G${index}`, causedBy: index === 0 ? 'F3' : `G${index - 1}` }),
      ),
    ];
    const told = plainText(result(file('a.pcapng', [session({ findings: ring })])));
    expect(told).toContain('F3');
    expect(told).toContain('G0');
  });

  it('a session of many in one file is told one after another', () => {
    const told = plainText(result(file('a.pcapng', [session(), { ...heldSession, id: '2' }])));
    expect(told).toContain('of 2 sessions in 1 file, 1 broke a rule and 1 held.');
    expect(told).toContain('a.pcapng, session 2');
  });
});

describe('other words', () => {
  it('a breach by both sides names both', () => {
    const both = finding({ owners: ['vehicle', 'charger'] });
    const told = plainText(result(file('a.pcapng', [session({ findings: [both] })])));
    expect(told).toContain('BROKEN: the vehicle and the charger broke within-limits');
  });

  it('a deadline is told with what armed it', () => {
    const late = finding({ deadline: { armedFrame: 110, due_s: 9.5 } });
    const told = plainText(result(file('a.pcapng', [session({ findings: [late] })])));
    expect(told).toMatch(/due\s+at 9\.500 s, 0\.341 s earlier, armed by frame 110/);
  });

  it('without a wall clock, times are from the start of the recording', () => {
    const told = plainText(result(file('a.pcapng', [session()], { epoch: null })));
    expect(told).toMatch(/time\s+0\.500 s, 13\.750 s long/);
  });

  it('a session that moved nothing says so', () => {
    const { summary } = heldSession;
    const idle = { ...heldSession, summary: { ...summary, energy_Wh: 0 } };
    expect(plainText(result(file('a.pcapng', [idle])))).toContain('(no energy was moved)');
  });
});
