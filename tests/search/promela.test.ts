// The same models under SPIN: stored states, transitions and verdicts must be ours (src/search/promela.ts says how the
// figures relate).
import { describe, expect, test } from 'vitest';
import { explore } from '../../src/search/explore/explore.ts';
import { ModelBuilder, and } from '../../src/search/model/build.ts';
import type { Model } from '../../src/search/model/form.ts';
import { promelaOf } from '../../src/search/promela.ts';
import { spin as spinPromela, type SpinFound } from '../support/spin.ts';
import { toolSkipped } from '../support/tools.ts';
import { alternatingBit } from './models/alternating-bit.ts';
import { fischer } from './models/fischer.ts';
import { peers } from './models/peers.ts';
import { jugs, missionaries, philosophers } from './models/puzzles.ts';
import { twoPhaseCommit } from './models/two-phase-commit.ts';

const skip =
  toolSkipped('spin', 'state counts against SPIN') ||
  toolSkipped('gcc', 'state counts against SPIN');

/** With one invariant asserted or none. */
function spin(model: Model, invariant?: number): SpinFound {
  return spinPromela(promelaOf(model), {
    ...(invariant === undefined ? {} : { invariant }),
    mayEndAnywhere: model.mayEnd === undefined,
  });
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

/** A command with so many ways to choose that it is written with its choices, some of which a state does not have. */
function manyWays(): Model {
  const m = new ModelBuilder('many ways');
  const [a, b] = [m.variable('a', 9, 1), m.variable('b', 50)];
  const most = m.table('most', [9], [0, 1, 2, 0, 3, 1, 2, 8, 0]);
  const first = m.choice('first', a.plus(1));
  const second = m.choice('second', most.at(first));
  const third = m.choice('third', 4);
  const sum = a.times(3).plus(first.times(second)).plus(third);
  m.command('jump', {
    choose: [first, second, third],
    guard: and(first.ne(5), sum.le(40), third.ne(2).or(a.gt(4)), b.lt(45)),
    set: [a.to(sum.minus(sum.minus(8).max(0)).max(second)), b.to(b.plus(third).max(sum))],
  });
  m.command('back', { guard: b.gt(40), set: [a.to(1), b.to(0)] });
  m.invariant('never 44', b.ne(44));
  m.invariant('never 8 with 17', and(a.eq(8), b.eq(17)).not());
  m.invariant('small', b.le(49));
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

describe.skipIf(skip)('a command written with its choices', () => {
  test('leads to the same states; what SPIN takes back it counts, too', async () => {
    const model = manyWays();
    const ours = await explore(model);
    const theirs = spin(model);
    expect(promelaOf(model)).toContain('atomic');
    expect(theirs.states).toBe(ours.states);
    expect(theirs.transitions).toBeGreaterThan(ours.transitions + 1);
    for (const [i, { verdict }] of ours.invariants.entries()) {
      const checked = spin(model, i);
      expect([checked.states, checked.errors > 0]).toEqual([ours.states, verdict === 'broken']);
    }
  }, 60_000);
});

const BROKEN = [fischer(3, 2, 2), alternatingBit(false), manyWays()];

describe.skipIf(skip)('a shortest way to a breach is as long in SPIN', () => {
  test.each(BROKEN.map((model) => [model.name, model] as const))(
    '%s',
    { timeout: 60_000 },
    async (_, model) => {
      const { invariants } = await explore(model);
      const invariant = invariants.findIndex(({ verdict }) => verdict === 'broken');
      const length = invariants[invariant]!.trace!.steps.length;
      const promela = promelaOf(model);
      const errors = (steps: number): number =>
        spinPromela(promela, { invariant, steps, mayEndAnywhere: true }).errors;
      expect(errors(length)).toBeGreaterThan(0);
      expect(errors(length - 1)).toBe(0);
    },
  );
});
