// Two peers that talk over two channels while their surroundings change freely: the shape of the product this search is
// made for, without any protocol in it. Peers are pseudo-random tables, so nobody can know the answer; the same model is
// given to SPIN.
import { ModelBuilder, and, ifThen } from '../../../src/search/model/build.ts';
import type { Model } from '../../../src/search/model/form.ts';

const MESSAGES = 5;

/** `capacity` is how many messages a channel holds. */
export function peers(states = 12, timer = 4, capacity = 2): Model {
  const holding = capacity === 2 ? '' : `, channels of ${capacity}`;
  const m = new ModelBuilder(`peers of ${states} states, timer ${timer}${holding}`);
  const random = generator(7);
  const surroundings = ['plugged', 'locked', 'isolated', 'cool'].map((name) => m.variable(name, 2));
  const sides = ['left', 'right'].map((name) => ({
    name,
    state: m.variable(`${name} state`, states),
    clock: m.variable(`${name} clock`, timer + 1),
    inbox: Array.from({ length: capacity }, (_, slot) =>
      m.variable(`to ${name} ${slot + 1}`, MESSAGES + 1),
    ),
  }));
  const faults = m.variable('faults', 3);
  const failed = m.variable('failed', 2);
  for (const it of surroundings) {
    m.command(`${it.variable.name} changes`, { set: [it.to(it.eq(0))] });
  }
  for (const [i, side] of sides.entries()) {
    const peer = sides[1 - i]!;
    const cells = states * (MESSAGES + 1) * 2;
    const next = m.table(`${side.name} next`, [states, MESSAGES + 1, 2], random(cells, states));
    const sent = m.table(
      `${side.name} sends`,
      [states, MESSAGES + 1, 2],
      random(cells, MESSAGES + 1),
    );
    const [own, theirs] = [side.inbox, peer.inbox];
    const [first, theirFirst] = [own[0]!, theirs[0]!];
    const moveUp = own.map((slot, at) => slot.to(own[at + 1] ?? 0));
    const guard = surroundings[2 * i]!;
    const entry = [side.state, first, guard] as const;
    const answer = sent.at(...entry);
    m.command(`${side.name} takes`, {
      guard: and(first.ne(0), theirs.at(-1)!.eq(0)),
      set: [
        side.state.to(next.at(...entry)),
        side.clock.to(0),
        ...moveUp,
        // The first free slot, behind those that are taken.
        ...theirs.map((slot, at) =>
          slot.to(ifThen(and(slot.eq(0), theirs[at - 1]?.ne(0) ?? true), answer, slot)),
        ),
      ],
    });
    m.command(`${side.name} times out`, {
      guard: and(side.clock.eq(timer), theirFirst.eq(0)),
      set: [
        side.state.to(next.at(side.state, 0, surroundings[2 * i + 1]!)),
        side.clock.to(0),
        theirFirst.to(i + 1),
      ],
    });
    m.command(`${side.name} loses`, {
      guard: and(first.ne(0), faults.lt(2)),
      set: [...moveUp, faults.to(faults.plus(1))],
    });
  }
  m.command('tick', {
    guard: sides[0]!.clock.lt(timer).or(sides[1]!.clock.lt(timer)),
    set: sides.map(({ clock }) => clock.to(clock.plus(1).min(timer))),
  });
  m.command('fails', {
    guard: and(failed.eq(0), faults.lt(2)),
    set: [failed.to(1), faults.to(faults.plus(1))],
  });
  m.invariant('faults are bounded', faults.le(2));
  return m.build();
}

/** Tables of numbers below a bound, from a linear congruential generator (Knuth's MMIX constants, upper bits). */
function generator(seed: number): (count: number, below: number) => number[] {
  let state = BigInt(seed);
  return (count, below) =>
    Array.from({ length: count }, () => {
      state = (state * 6364136223846793005n + 1442695040888963407n) & 0xffff_ffff_ffff_ffffn;
      return Number(state >> 33n) % below;
    });
}
