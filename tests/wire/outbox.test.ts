// The order in which observations leave, and how often problems of one kind are told.
import * as fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Outbox } from '../../src/wire/outbox.ts';
import type { Observation } from '../../src/trace/observation.ts';

const note = (frame: number): Observation => ({ kind: 'note', at_ns: 0, frame, says: `${frame}` });
const frames = (outbox: Outbox): (number | undefined)[] => outbox.take().map(({ frame }) => frame);

describe('the outbox', () => {
  it('lets everything go at once while nothing is held', () => {
    const outbox = new Outbox();
    outbox.put(note(1));
    outbox.put(note(2));
    expect(frames(outbox)).toEqual([1, 2]);
    expect(frames(outbox)).toEqual([]);
  });

  it('holds back what may come after something found late, and sorts it in', () => {
    const outbox = new Outbox();
    outbox.put(note(1));
    outbox.holdFrom(2);
    for (const frame of [3, 4, 2, 5]) outbox.put(note(frame));
    expect(frames(outbox)).toEqual([1]);
    expect(outbox.heldCount).toBe(4);
    outbox.holdFrom(4);
    expect(frames(outbox)).toEqual([2, 3]);
    outbox.holdFrom(Infinity);
    expect(frames(outbox)).toEqual([4, 5]);
    outbox.put(note(6));
    expect(frames(outbox)).toEqual([6]);
  });

  it('keeps the order of what belongs to one frame', () => {
    const outbox = new Outbox();
    outbox.holdFrom(1);
    const same = [note(7), note(7), note(7)];
    for (const each of same) outbox.put(each);
    outbox.holdFrom(Infinity);
    const taken = outbox.take();
    expect(taken.every((each, index) => each === same[index])).toBe(true);
    expect(taken).toHaveLength(3);
  });

  it('loses nothing and repeats nothing, whatever is held', () => {
    const step = fc.oneof(fc.nat(50), fc.record({ hold: fc.nat(60) }));
    fc.assert(
      fc.property(fc.array(step, { maxLength: 100 }), (steps) => {
        const outbox = new Outbox();
        const taken: (number | undefined)[] = [];
        const put: number[] = [];
        for (const each of steps) {
          if (typeof each === 'number') {
            outbox.put(note(each));
            put.push(each);
          } else outbox.holdFrom(each.hold > 50 ? Infinity : each.hold);
          taken.push(...frames(outbox));
        }
        outbox.holdFrom(Infinity);
        taken.push(...frames(outbox));
        expect(taken.toSorted()).toEqual(put.toSorted());
      }),
    );
  });

  it('tells five problems of a kind, then how many more there were', () => {
    const outbox = new Outbox();
    for (let frame = 1; frame <= 8; frame++) {
      outbox.frame = frame;
      outbox.problem({ problem: 'cut', says: `packet ${frame} was cut`, frame });
    }
    outbox.problem({ problem: 'damaged', says: 'packet 9 was cut', frame: 9 });
    outbox.tellRest();
    const told = outbox.take();
    expect(told.map(({ frame }) => frame)).toEqual([1, 2, 3, 4, 5, 9, undefined]);
    expect(told.at(-1)).toMatchObject({
      problem: 'cut',
      says: 'and 3 more like this: packet 1 was cut',
    });
    expect(outbox.problems()).toEqual([
      { problem: 'cut', says: 'packet 1 was cut', frame: 1, count: 8 },
      { problem: 'damaged', says: 'packet 9 was cut', frame: 9, count: 1 },
    ]);
  });

  it('keeps a bounded number of kinds', () => {
    const outbox = new Outbox();
    for (let index = 0; index < 3000; index++) {
      const letters = index.toString(26).replaceAll(/\d/g, (digit) => 'zyxwvutsrq'[Number(digit)]!);
      outbox.problem({ problem: 'damaged', says: `${letters}!${'?'.repeat(index % 7)}` });
    }
    expect(outbox.problems().length).toBe(1000);
  });
});
