// The same models under SPIN: stored states, transitions and verdicts must be ours (src/search/promela.ts says how the
// figures relate). SPIN: Holzmann, "The SPIN Model Checker", 2003; the Debian package.
import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, test } from 'vitest';
import { explore } from '../../src/search/explore/explore.ts';
import { ModelBuilder, and } from '../../src/search/model/build.ts';
import type { Model } from '../../src/search/model/form.ts';
import { promelaOf } from '../../src/search/promela.ts';
import { toolSkipped } from '../support/tools.ts';
import { alternatingBit } from './models/alternating-bit.ts';
import { fischer } from './models/fischer.ts';
import { peers } from './models/peers.ts';
import { jugs, missionaries, philosophers } from './models/puzzles.ts';
import { twoPhaseCommit } from './models/two-phase-commit.ts';

const skip =
  toolSkipped('spin', 'state counts against SPIN') ||
  toolSkipped('gcc', 'state counts against SPIN');
const folder = mkdtempSync(join(tmpdir(), 'handfast-spin-'));
afterAll(() => rmSync(folder, { recursive: true }));

/** What pan prints, with one invariant asserted or none. */
function spin(
  model: Model,
  invariant?: number,
): { states: number; transitions: number; errors: number } {
  writeFileSync(join(folder, 'model.pml'), promelaOf(model));
  run('spin', [
    '-a',
    ...(invariant === undefined ? [] : [`-DINVARIANT=${invariant}`]),
    'model.pml',
  ]);
  run('gcc', ['-O1', '-DSAFETY', '-DNOREDUCE', '-o', 'pan', 'pan.c']);
  const end = model.mayEnd ? [] : ['-E'];
  const text = run(join(folder, 'pan'), ['-c0', '-m100000', '-w18', ...end]);
  const figure = (pattern: RegExp): number => Number(pattern.exec(text)?.[1] ?? Number.NaN);
  return {
    states: figure(/([\d.e+]+) states, stored/),
    transitions: figure(/([\d.e+]+) transitions/),
    errors: figure(/errors: (\d+)/),
  };
}

function run(tool: string, given: string[]): string {
  const { status, stdout, stderr } = spawnSync(tool, given, { cwd: folder, encoding: 'utf8' });
  if (status !== 0) throw new Error(`${tool} ended with ${status}: ${stdout}${stderr}`);
  return stdout;
}

/** Every kind of expression, choices whose number depends on the state, and updates that read each other. */
function everything(): Model {
  const m = new ModelBuilder('everything');
  const [a, b, c] = [m.variable('a', 7, 3), m.variable('b', 300), m.variable('c', 2, 1)];
  const move = m.table('move', [7, 2], [1, 2, 3, 4, 5, 6, 0, 1, -2, -1, 3, 4, 5, 0]);
  const far = m.choice('far', a.plus(1));
  const side = m.choice('side', 2);
  m.command('swap', { guard: b.lt(7), set: [a.to(b.min(6)), b.to(a)] });
  m.command('jump', {
    choose: [far, side],
    guard: and(move.at(a, side).ge(0), b.plus(far).lt(40), far.ne(1).or(c.not())),
    set: [a.to(move.at(a, side)), b.to(b.plus(far.times(side.plus(1)))), c.to(side)],
  });
  m.command('back', { guard: b.ge(30), set: [b.to(b.minus(30).max(a)), c.to(c.eq(0))] });
  m.invariant('never 35', b.ne(35));
  m.invariant('small', b.le(1000));
  return m.build();
}

const MODELS = [
  twoPhaseCommit(3),
  twoPhaseCommit(5),
  fischer(3, 2, 3),
  fischer(3, 2, 2),
  alternatingBit(),
  alternatingBit(false),
  jugs(),
  missionaries(),
  philosophers(5),
  philosophers(5, true),
  everything(),
  peers(3, 1),
];

describe.skipIf(skip)('SPIN counts the same', () => {
  test.each(MODELS.map((model) => [model.name, model] as const))(
    '%s',
    { timeout: 60_000 },
    async (_, model) => {
      const ours = await explore(model);
      expect(ours.stoppedBy).toBeUndefined();
      const plain = spin(model);
      expect(plain.states).toBe(ours.states);
      if (model.mayEnd) {
        expect(plain.errors > 0).toBe(ours.deadlock!.verdict === 'broken');
      } else {
        expect(plain.errors).toBe(0);
        expect(plain.transitions).toBe(ours.transitions + 1);
      }
      // Checking one invariant in each direction is enough for models with many alike.
      for (const [i, { verdict }] of ours.invariants.slice(0, 2).entries()) {
        const checked = spin(model, i);
        expect(checked.states).toBe(ours.states);
        expect(checked.errors > 0).toBe(verdict === 'broken');
        expect(checked.transitions).toBe(ours.transitions + 1 + checked.errors);
      }
    },
  );
});
