// What steps note is what the interpreter finds they would: over every step out of every reachable state.
import { describe, expect, it } from 'vitest';
import { explore } from '../../src/search/explore/explore.ts';
import { ModelBuilder } from '../../src/search/model/build.ts';
import { evaluate, initialState, successors } from '../../src/search/model/evaluate.ts';
import type { Model } from '../../src/search/model/form.ts';

/** A counter and a switch: the switch turns at even counts, the counter goes up while it is on and back to 0 while not. */
function counter(): Model {
  const builder = new ModelBuilder('counter');
  const count = builder.variable('count', 10);
  const on = builder.words('on', ['no', 'yes']);
  const parity = builder.table('parity', [10], [0, 1, 0, 1, 0, 1, 0, 1, 0, 1]);
  builder.noteSet('turned at', 10).noteSet('seen', 3);
  builder.command('turn', {
    guard: parity.at(count).eq(0),
    set: [on.to(on.eq(0))],
    notes: [
      { set: 'turned at', at: count },
      { set: 'seen', at: 0, when: count.ge(4) },
      { set: 'seen', at: 1, when: count.ge(9) },
    ],
  });
  const by = builder.choice('by', 2);
  builder.command('up', {
    choose: [by],
    guard: on.is('yes').and(count.lt(8)),
    set: [count.to(count.plus(by).plus(1))],
    notes: [{ set: 'seen', at: 2, when: by.eq(1).and(count.eq(3)) }],
  });
  builder.command('back', { guard: on.is('no'), set: [count.to(0)] });
  return builder.build();
}

function interpreted(model: Model): Map<string, number[]> {
  const marks = new Map(
    model.notes!.map(({ name, size }) => [name, Array.from({ length: size }, () => 0)]),
  );
  const open = [initialState(model)];
  const known = new Set([open[0]!.join()]);
  for (const state of open) {
    for (const { command, chosen, state: next } of successors(model, state)) {
      for (const { set, at, when } of command.notes!) {
        const reading = { model, state, chosen };
        if (when !== undefined && evaluate(when, reading) === 0) continue;
        marks.get(set)![evaluate(at, reading)] = 1;
      }
      if (known.has(next.join())) continue;
      known.add(next.join());
      open.push(next);
    }
  }
  return marks;
}

const build = (set: string, at: number) => (): Model =>
  new ModelBuilder('wrong')
    .noteSet('few', 2)
    .command('go', { notes: [{ set, at }] })
    .build();

describe('notes', () => {
  it('are those the interpreter finds', async () => {
    const model = counter();
    const found = await explore(model);
    const marks = [...found.notes].map(([name, places]) => [name, [...places]]);
    expect(marks).toEqual([...interpreted(model)]);
    // By hand: it turns at every even count, and 9 is odd.
    expect(found.notes.get('turned at')).toEqual(Uint8Array.of(1, 0, 1, 0, 1, 0, 1, 0, 1, 0));
    expect(found.notes.get('seen')).toEqual(Uint8Array.of(1, 0, 1));
  });

  it('of an unknown set, or outside of it, are refused', () => {
    expect(build('many', 0)).toThrow('notes something in unknown set many');
    expect(build('few', 2)).toThrow('notes 2 … 2 in few, outside 0 … 1');
  });
});
