// Models with published or commonly known answers.
import { describe, expect, test } from 'vitest';
import { explore } from '../../src/search/explore/explore.ts';
import type { Exploration } from '../../src/search/explore/explore.ts';
import { alwaysReachable } from '../../src/search/explore/reachability.ts';
import { alternatingBit } from './models/alternating-bit.ts';
import { fischer } from './models/fischer.ts';
import { jugs, missionaries, philosophers } from './models/puzzles.ts';
import { twoPhaseCommit } from './models/two-phase-commit.ts';
import { expectTrace } from './support/replay.ts';

function verdicts(exploration: Exploration): string[] {
  return exploration.invariants.map(({ verdict }) => verdict);
}

describe('two-phase commit', () => {
  // State counts: stateright 0.31, examples/2pc.rs, can_model_2pc (288 with 3 resource managers, 8,832 with 5).
  test.each([
    [3, 288],
    [5, 8832],
  ])('with %i resource managers has %i states', async (managers, states) => {
    const found = await explore(twoPhaseCommit(managers));
    expect(found.stoppedBy).toBeUndefined();
    expect(found.states).toBe(states);
    expect(new Set(verdicts(found))).toEqual(new Set(['holds']));
    expect(found.fired.every(({ count }) => count > 0)).toBe(true);
  });
});

describe('Fischer', () => {
  const bounds = [1, 2, 3].flatMap((write) => [1, 2, 3, 4].map((delay) => [write, delay] as const));

  test.each(bounds)(
    'write %i, delay %i: safe exactly when the delay is longer',
    async (write, delay) => {
      const model = fischer(3, write, delay);
      const found = await explore(model);
      expect(found.stoppedBy).toBeUndefined();
      expect(verdicts(found)).toEqual([delay > write ? 'holds' : 'broken']);
      const trace = found.invariants[0]!.trace;
      if (trace) expectTrace(model, trace);
    },
  );
});

describe('alternating bit', () => {
  test('delivers in order and exactly once, and delivering stays possible', async () => {
    const model = alternatingBit();
    expect(verdicts(await explore(model))).toEqual(['holds']);
    for (const value of [0, 1, 2]) {
      const delivered = { kind: 'constant', value } as const;
      const goal = {
        kind: 'binary',
        operator: '==',
        left: { kind: 'variable', name: 'expected' },
        right: delivered,
      } as const;
      const { goal: found } = await alwaysReachable(model, 'delivers', goal);
      expect(found.verdict).toBe('holds');
    }
  });

  test('without the bit a message is delivered twice', async () => {
    const model = alternatingBit(false);
    const [broken] = (await explore(model)).invariants;
    expect(broken!.verdict).toBe('broken');
    // Sent, delivered, sent again before the answer is taken, delivered again.
    expect(broken!.trace!.steps.map(({ command }) => command)).toEqual([
      'send',
      'deliver',
      'send',
      'deliver',
    ]);
    expect(broken!.trace!.steps[0]!.labels).toEqual({ message: 0 });
    expectTrace(model, broken!.trace!);
  });
});

describe('shortest answers', () => {
  test('4 litres out of jugs of 3 and 5 take 6 steps', async () => {
    const [never] = (await explore(jugs())).invariants;
    expect(never!.trace!.steps).toHaveLength(6);
    expectTrace(jugs(), never!.trace!);
  });

  test('missionaries and cannibals need 11 crossings', async () => {
    const [never] = (await explore(missionaries())).invariants;
    expect(never!.trace!.steps).toHaveLength(11);
    expectTrace(missionaries(), never!.trace!);
  });

  test.each([2, 3, 5, 8])('%i philosophers starve after as many steps', async (count) => {
    const { deadlock } = await explore(philosophers(count));
    expect(deadlock!.verdict).toBe('broken');
    expect(deadlock!.trace!.steps).toHaveLength(count);
    expectTrace(philosophers(count), deadlock!.trace!);
    const { deadlock: prevented } = await explore(philosophers(count, true));
    expect(prevented!.verdict).toBe('holds');
  });
});
