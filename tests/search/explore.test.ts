// Limits, interruption, progress, coverage, and models large enough for a second layout, several words and several
// generated functions.
import { describe, expect, test } from 'vitest';
import { explore } from '../../src/search/explore/explore.ts';
import { Search } from '../../src/search/explore/search.ts';
import { ModelBuilder, and } from '../../src/search/model/build.ts';
import type { Model } from '../../src/search/model/form.ts';
import { alternatingBit } from './models/alternating-bit.ts';
import { philosophers } from './models/puzzles.ts';
import { twoPhaseCommit } from './models/two-phase-commit.ts';
import { expectTrace } from './support/replay.ts';

/** Counters that run freely below their sizes; `room` is how many values their variables have at least. */
function counters(sizes: readonly number[], room = 1): Model {
  const m = new ModelBuilder('counters');
  const all = sizes.map((size, i) => m.variable(`count${i}`, Math.max(size, room)));
  for (const [i, count] of all.entries()) {
    m.command(`up${i}`, { guard: count.lt(sizes[i]! - 1), set: [count.to(count.plus(1))] });
  }
  m.command('never', { guard: all[0]!.gt(sizes[0]!), set: [] });
  m.invariant('never all', and(...all.map((count, i) => count.eq(sizes[i]! - 1))).not());
  m.invariant('in range', all[0]!.lt(sizes[0]!));
  m.mayEnd(false);
  return m.build();
}

describe('counters, by arithmetic', () => {
  // n counters of size s: s^n states, n·s^(n−1)·(s−1) steps, depth n·(s−1).
  test.each([
    ['one word', [10, 10, 10, 10, 10], 1],
    ['wide values', [70, 60, 50], 1],
    ['five words', [8, 7, 6, 5, 4, 3], 2 ** 22],
  ])('%s', async (_, sizes, room) => {
    const model = counters(sizes, room);
    const found = await explore(model);
    const states = sizes.reduce((product, size) => product * size, 1);
    const steps = sizes.reduce((sum, size) => sum + (states / size) * (size - 1), 0);
    const depth = sizes.reduce((sum, size) => sum + size - 1, 0);
    expect(found).toMatchObject({ states, transitions: steps, depth });
    expect(found.fired.at(-1)).toEqual({ command: 'never', count: 0 });
    expect(found.invariants.map(({ verdict }) => verdict)).toEqual(['broken', 'holds']);
    const [neverAll] = found.invariants;
    expect(neverAll!.trace!.steps).toHaveLength(depth);
    expect(found.deadlock!.trace!.steps).toHaveLength(depth);
    expectTrace(model, neverAll!.trace!);
  });
});

test('a layout found on the way changes nothing', async () => {
  const model = twoPhaseCommit(6);
  const plain = new Search(model);
  while (!plain.done) plain.step();
  const found = await explore(model);
  expect(found.states).toBeGreaterThan(2 ** 15);
  expect([found.states, found.transitions, found.depth]).toEqual([
    plain.store.states,
    plain.transitions,
    plain.depth,
  ]);
  expect(found.fired.map(({ count }) => count)).toEqual([...plain.fired]);
  expect(found.bytesPerState).toBeLessThan(plain.store.bytes / plain.store.states);
});

test('several hundred commands are spread over several functions', async () => {
  const m = new ModelBuilder('ring');
  const [place, laps] = [m.variable('place', 700), m.variable('laps', 5)];
  for (let i = 0; i < 700; i++) {
    const last = i === 699;
    const set = [place.to(last ? 0 : i + 1), ...(last ? [laps.to(laps.plus(1))] : [])];
    m.command(`go${i}`, { guard: and(place.eq(i), laps.lt(4)), set });
  }
  const found = await explore(m.build());
  expect(found).toMatchObject({ states: 2801, transitions: 2800, depth: 2800 });
  expect(found.fired.every(({ count }) => count === 4)).toBe(true);
});

describe('a search that stops says why and claims nothing', () => {
  const model = counters([10, 10, 10, 10, 10]);
  const undecided = ['undecided', 'undecided'];

  test.each([
    ['states', { states: 2000 }],
    ['memory', { memory_bytes: 100_000 }],
    ['time', { time_s: 0 }],
  ])('%s', async (reason, limits) => {
    const found = await explore(reason === 'time' ? counters([90, 90, 90]) : model, { limits });
    expect(found.stoppedBy).toBe(reason);
    expect(found.invariants.map(({ verdict }) => verdict)).toEqual(undecided);
    expect(found.deadlock!.verdict).toBe('undecided');
  });

  test('interrupt', async () => {
    const controller = new AbortController();
    let calls = 0;
    const found = await explore(counters([150, 150, 150]), {
      signal: controller.signal,
      onProgress: ({ states, frontier, bytes }) => {
        calls++;
        expect(Math.min(states, frontier, bytes)).toBeGreaterThan(0);
        controller.abort();
      },
    });
    expect(found.stoppedBy).toBe('interrupt');
    expect(calls).toBeLessThanOrEqual(2);
    expect(found.states).toBeLessThan(150 ** 3);
  });

  test('violation, if asked', async () => {
    const broken = alternatingBit(false);
    const all = await explore(broken);
    const first = await explore(broken, { stopAtFirst: true });
    expect(first.stoppedBy).toBe('violation');
    expect(first.states).toBeLessThan(all.states);
    expect(first.invariants[0]!.trace).toEqual(all.invariants[0]!.trace);
  });

  test('a limit that is not reached changes nothing', async () => {
    const found = await explore(philosophers(4), { limits: { states: 10_000, time_s: 600 } });
    expect(found.stoppedBy).toBeUndefined();
  });
});
