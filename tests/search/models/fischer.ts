// Fischer's timed mutual exclusion with digital clocks (the algorithm as told by Lamport, "A Fast Mutual Exclusion
// Algorithm", 1987): who saw the lock free writes their number within `write` ticks, waits `delay` ticks after writing,
// and enters if the number still stands.
import { ModelBuilder, and, ifThen } from '../../../src/search/model/build.ts';
import type { Term } from '../../../src/search/model/build.ts';
import type { Model } from '../../../src/search/model/form.ts';

export function fischer(processes: number, write: number, delay: number): Model {
  const m = new ModelBuilder(`Fischer ${processes}, write ${write}, delay ${delay}`);
  const all = Array.from({ length: processes }, (_, i) => i);
  const longest = Math.max(write, delay);
  const lock = m.variable('lock', processes + 1);
  const at = all.map((i) => m.words(`at${i}`, ['idle', 'writing', 'waiting', 'critical']));
  const clock = all.map((i) => m.variable(`clock${i}`, longest + 1));
  for (const i of all) {
    const [here, time] = [at[i]!, clock[i]!];
    m.command(`see(${i})`, {
      guard: and(here.is('idle'), lock.eq(0)),
      set: [here.to('writing'), time.to(0)],
    });
    m.command(`write(${i})`, {
      guard: here.is('writing'),
      set: [here.to('waiting'), lock.to(i + 1), time.to(0)],
    });
    const waited = and(here.is('waiting'), time.ge(delay));
    m.command(`enter(${i})`, {
      guard: and(waited, lock.eq(i + 1)),
      set: [here.to('critical'), time.to(0)],
    });
    m.command(`giveUp(${i})`, {
      guard: and(waited, lock.ne(i + 1)),
      set: [here.to('idle'), time.to(0)],
    });
    m.command(`leave(${i})`, { guard: here.is('critical'), set: [here.to('idle'), lock.to(0)] });
  }
  const runs = (i: number): Term => at[i]!.is('writing', 'waiting');
  m.command('tick', {
    guard: and(...all.map((i) => and(at[i]!.is('writing'), clock[i]!.ge(write)).not())),
    set: all.map((i) => clock[i]!.to(ifThen(runs(i), clock[i]!.plus(1).min(longest), 0))),
  });
  const inside = all.map((i) => at[i]!.is('critical'));
  m.invariant('mutual exclusion', inside.reduce((sum, one) => sum.plus(one)).le(1));
  return m.build();
}
