// Small models whose answers everybody knows.
import { ModelBuilder, and, constant, ifThen, or } from '../../../src/search/model/build.ts';
import type { Model } from '../../../src/search/model/form.ts';

/** Jugs of 3 and 5 litres: 4 litres take 6 steps (the die-hard puzzle; common knowledge). */
export function jugs(): Model {
  const m = new ModelBuilder('jugs');
  const [small, big] = [m.variable('small', 4), m.variable('big', 6)];
  m.command('fill small', { set: [small.to(3)] });
  m.command('fill big', { set: [big.to(5)] });
  m.command('empty small', { set: [small.to(0)] });
  m.command('empty big', { set: [big.to(0)] });
  const toBig = small.min(constant(5).minus(big));
  const toSmall = big.min(constant(3).minus(small));
  m.command('small to big', { set: [small.to(small.minus(toBig)), big.to(big.plus(toBig))] });
  m.command('big to small', { set: [small.to(small.plus(toSmall)), big.to(big.minus(toSmall))] });
  m.invariant('never 4 litres', big.ne(4));
  return m.build();
}

/**
 * Three missionaries and three cannibals, a boat for two: 11 crossings (Amarel, "On representations of problems of
 * reasoning about actions", 1968).
 */
export function missionaries(): Model {
  const m = new ModelBuilder('missionaries and cannibals');
  const missionary = m.variable('missionaries', 4, 3);
  const cannibal = m.variable('cannibals', 4, 3);
  const boat = m.words('boat', ['here', 'there']);
  const [goM, goC] = [m.choice('goM', 3), m.choice('goC', 3)];
  const sign = ifThen(boat.is('here'), -1, 1);
  const nextM = missionary.plus(goM.times(sign));
  const nextC = cannibal.plus(goC.times(sign));
  m.command('cross', {
    choose: [goM, goC],
    guard: and(
      goM.plus(goC).ge(1),
      goM.plus(goC).le(2),
      nextM.ge(0),
      nextM.le(3),
      nextC.ge(0),
      nextC.le(3),
      or(nextM.eq(0), nextM.ge(nextC)),
      or(nextM.eq(3), constant(3).minus(nextM).ge(constant(3).minus(nextC))),
    ),
    set: [missionary.to(nextM), cannibal.to(nextC), boat.to(constant(1).minus(boat))],
  });
  m.invariant('not all across', missionary.plus(cannibal).ne(0));
  return m.build();
}

/**
 * Dijkstra's dining philosophers: everybody takes the left fork first and all starve after as many steps as there are
 * philosophers; one who takes the right fork first prevents it (common knowledge).
 */
export function philosophers(count: number, oneOtherwise = false): Model {
  const m = new ModelBuilder(`${count} philosophers`);
  const all = Array.from({ length: count }, (_, i) => i);
  const fork = all.map((i) => m.variable(`fork${i}`, 2));
  const at = all.map((i) => m.words(`at${i}`, ['thinking', 'one fork', 'eating']));
  for (const i of all) {
    const swapped = oneOtherwise && i === 0;
    const [first, second] = swapped ? [(i + 1) % count, i] : [i, (i + 1) % count];
    m.command(`first(${i})`, {
      guard: and(at[i]!.is('thinking'), fork[first]!.eq(0)),
      set: [at[i]!.to('one fork'), fork[first]!.to(1)],
    });
    m.command(`second(${i})`, {
      guard: and(at[i]!.is('one fork'), fork[second]!.eq(0)),
      set: [at[i]!.to('eating'), fork[second]!.to(1)],
    });
    m.command(`done(${i})`, {
      guard: at[i]!.is('eating'),
      set: [at[i]!.to('thinking'), fork[first]!.to(0), fork[second]!.to(0)],
    });
  }
  m.mayEnd(false);
  return m.build();
}
