// The engine, with any layout, against the plainest search there is, on random models.
import * as fc from 'fast-check';
import { expect, test } from 'vitest';
import { Search } from '../../src/search/explore/search.ts';
import { explore } from '../../src/search/explore/explore.ts';
import { bitsOf } from '../../src/search/explore/layout.ts';
import { alwaysReachable } from '../../src/search/explore/reachability.ts';
import { checkModel } from '../../src/search/model/check.ts';
import { ModelError } from '../../src/search/model/form.ts';
import type { Model } from '../../src/search/model/form.ts';
import { models } from './support/random-model.ts';
import { expectTrace, reference, value } from './support/replay.ts';

/** What the checker refuses is no model; it does refuse some: values that never fit, more than 32 bits. */
function isModel(model: Model): boolean {
  try {
    checkModel(model);
    return true;
  } catch (error) {
    if (error instanceof ModelError) return false;
    throw error;
  }
}

const RUNS = { numRuns: 400 };

test('counts, depth, verdicts and shortest traces are those of the reference', async () => {
  await fc.assert(
    fc.asyncProperty(models(true).filter(isModel), async (model) => {
      const known = reference(model);
      const found = await explore(model);
      expect(found).toMatchObject({
        states: known.states,
        transitions: known.transitions,
        depth: known.depth,
      });
      expect(Object.fromEntries(found.fired.map((f) => [f.command, f.count]))).toEqual(known.fired);
      const steps = found.invariants.map(({ trace }) => trace?.steps.length);
      expect(steps).toEqual(known.broken);
      expect(found.deadlock!.trace?.steps.length).toBe(known.deadlock);
      for (const [i, { trace }] of found.invariants.entries()) {
        if (trace === undefined) continue;
        expectTrace(model, trace);
        const end = trace.steps.at(-1)?.state ?? trace.initial;
        const env = Object.fromEntries(model.variables.map(({ name }, v) => [name, end[v]!]));
        expect(value(model, model.invariants[i]!.holds, env)).toBe(0);
      }
    }),
    RUNS,
  );
});

test('the layout makes no difference', () => {
  const withInner = models(true)
    .filter(isModel)
    .chain((model) =>
      fc.record({
        model: fc.constant(model),
        order: fc.shuffledSubarray([...model.variables.keys()]),
      }),
    );
  fc.assert(
    fc.property(withInner, ({ model, order }) => {
      const inner = new Set<number>();
      let bits = 0;
      for (const i of order) {
        const more = bitsOf(model.variables[i]!);
        if (bits + more > 5) continue;
        inner.add(i);
        bits += more;
      }
      const search = new Search(model, inner);
      while (!search.done) search.step();
      const known = reference(model);
      expect([search.store.states, search.transitions, search.depth]).toEqual([
        known.states,
        known.transitions,
        known.depth,
      ]);
      expect([...search.fired]).toEqual(Object.values(known.fired));
      const broken = [...known.broken, known.deadlock].map((depth) => depth !== undefined);
      expect([...search.broken].map((id) => id >= 0)).toEqual(broken);
    }),
    RUNS,
  );
});

test('a value outside its variable is told, never wrapped', () => {
  let told = 0;
  fc.assert(
    fc.property(models(false).filter(isModel), (model) => {
      let known: string | undefined;
      try {
        reference(model);
      } catch {
        known = 'outside';
      }
      const run = (): void => {
        const search = new Search(model);
        while (!search.done) search.step();
      };
      if (known === undefined) return run();
      told++;
      expect(run).toThrow(ModelError);
    }),
    RUNS,
  );
  expect(told).toBeGreaterThan(20);
});

test('states that cannot reach a goal are those of the reference', async () => {
  await fc.assert(
    fc.asyncProperty(models(true).filter(isModel), async (model) => {
      const found = await alwaysReachable(model, 'goal', model.mayEnd!);
      const known = reference(model, model.mayEnd);
      expect(found.stuck).toBe(known.stuck);
      expect(found.goal.verdict).toBe(known.stuck === 0 ? 'holds' : 'broken');
    }),
    { numRuns: 200 },
  );
});
