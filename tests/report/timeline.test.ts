// A timeline as it is written into a report gives back what was recorded: packed columns, messages taken apart into
// columns and put together again.
import * as fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { openFile } from '../../src/replay/open.ts';
import { Pseudonyms } from '../../src/report/pseudonyms.ts';
import { pack, unpack } from '../../src/report/timeline/pack.ts';
import { packTimeline } from '../../src/report/timeline/pack-timeline.ts';
import { leafPaths, readLeaves, rebuild, treeOf } from '../../src/report/timeline/shapes.ts';
import type { Json, Observation } from '../../src/trace/observation.ts';
import { Log } from '../../src/report/page/log.ts';
import { replayed } from './page/browser.ts';

const figure = fc.oneof(
  fc.integer({ min: -1000, max: 1000 }),
  fc.integer({ min: -9000, max: 9000 }).map((tenths) => tenths / 10),
  fc.double({ noNaN: true, noDefaultInfinity: true }),
);
const leaf = fc.oneof(figure, fc.string(), fc.boolean(), fc.constant(null));
const json = fc
  .letrec<{ value: Json }>((tie) => ({
    value: fc.oneof(
      { depthSize: 'small' },
      leaf,
      fc.array(tie('value'), { maxLength: 3 }),
      fc.dictionary(fc.oneof(fc.string(), fc.constant('__proto__')), tie('value'), { maxKeys: 3 }),
    ),
  }))
  .value.map((value) => JSON.parse(JSON.stringify(value)) as Json);

describe('packing', () => {
  it('gives back every column, through JSON', () => {
    const column = fc.oneof(
      fc.array(leaf),
      fc.array(figure, { minLength: 8, maxLength: 60 }),
      fc.array(fc.constantFrom<Json>('A', 1, 2.5, null), { maxLength: 60 }),
    );
    fc.assert(
      fc.property(column, (values) => {
        const written = JSON.parse(JSON.stringify(pack(values)));
        // JSON has no minus zero.
        expect(unpack(written)).toEqual(JSON.parse(JSON.stringify(values)));
      }),
    );
  });

  it('writes what hardly changes in hardly any room', () => {
    const steady = Array.from({ length: 10_000 }, (_, index) => 100_000 + index * 250);
    expect(JSON.stringify(pack(steady)).length).toBeLessThan(80);
    const voltage = Array.from({ length: 10_000 }, (_, index) => 380 + (index % 7) / 10);
    expect(JSON.stringify(pack(voltage)).length).toBeLessThan(30_000);
  });
});

describe('shapes', () => {
  it('take any JSON apart and put it together again', () => {
    fc.assert(
      fc.property(json, (value) => {
        const tree = treeOf(value);
        const leaves: Json[] = [];
        expect(readLeaves(tree, value, leaves)).toBe(true);
        expect(leafPaths(tree)).toHaveLength(leaves.length);
        let next = 0;
        expect(rebuild(tree, () => leaves[next++]!)).toEqual(value);
      }),
    );
  });

  it('tell values of another shape', () => {
    fc.assert(
      fc.property(json, json, (one, other) => {
        const same = JSON.stringify(treeOf(one)) === JSON.stringify(treeOf(other));
        expect(readLeaves(treeOf(one), other, [])).toBe(same);
      }),
    );
  });

  it('are not led too deep', () => {
    let deep: Json = 1;
    for (let level = 0; level < 5000; level += 1) deep = [deep];
    const leaves: Json[] = [];
    expect(readLeaves(treeOf(deep), deep, leaves)).toBe(true);
    expect(leaves).toHaveLength(1);
  });
});

describe('a field capture', () => {
  it('comes back message by message', async () => {
    const path = 'traces/field/iso2-clean-lossy-network.pcapng';
    const input = await replayed(path);
    const packed = packTimeline(input.files[0]!.timelines[0]!, new Pseudonyms(true));
    const log = new Log(JSON.parse(JSON.stringify(packed)), 'iso15118-2');
    const recorded: Observation[] = [];
    for await (const batch of (await openFile(path, [])).observations) recorded.push(...batch);
    // Openings of connections and notes stand outside the sessions.
    const inside = recorded.filter(
      (one) => one.kind === 'message' || (one.kind === 'link' && one.state !== 'opened'),
    );
    expect(Array.from({ length: log.length }, (_, row) => log.observation(row))).toEqual(inside);
  });
});
