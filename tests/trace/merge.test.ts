import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { InputError } from '../../src/trace/input-error.ts';
import { mergeTraces } from '../../src/trace/merge.ts';
import type { Observation } from '../../src/trace/observation.ts';
import { allOf, traceOf } from './support.ts';

const S = 1_000_000_000;

function noteAt(seconds: number, says = ''): Observation {
  return { kind: 'note', at_ns: Math.round(seconds * S), says };
}

async function* failing(): AsyncGenerator<Observation[]> {
  yield [noteAt(1)];
  throw new InputError('bad cell', {}, '');
}

async function timesOf(
  main: { epoch?: string | null },
  other: { epoch?: string | null; offset_ns?: number },
): Promise<[string | undefined, number][]> {
  const merged = mergeTraces(traceOf([noteAt(0), noteAt(10)], main), [
    {
      trace: traceOf([noteAt(1), noteAt(2)], other),
      offset_ns: other.offset_ns ?? 0,
      recorder: 'meter',
    },
  ]);
  return (await allOf(merged)).map(({ recorder, at_ns }) => [recorder, at_ns / S]);
}

const EIGHT = '2026-11-25T08:00:00.000000000Z';
const THREE_LATER = '2026-11-25T08:00:03.500000000Z';

describe('the clock of the main recording', () => {
  test('places another by both epochs', async () => {
    expect(await timesOf({ epoch: EIGHT }, { epoch: THREE_LATER })).toEqual([
      [undefined, 0],
      ['meter', 4.5],
      ['meter', 5.5],
      [undefined, 10],
    ]);
    expect(await timesOf({ epoch: THREE_LATER }, { epoch: EIGHT })).toEqual([
      ['meter', -2.5],
      ['meter', -1.5],
      [undefined, 0],
      [undefined, 10],
    ]);
  });

  test('an offset is added to the times of the recorder it is given for', async () => {
    expect(await timesOf({ epoch: EIGHT }, { epoch: THREE_LATER, offset_ns: 0.12 * S })).toEqual([
      [undefined, 0],
      ['meter', 4.62],
      ['meter', 5.62],
      [undefined, 10],
    ]);
  });

  test.each([
    ['the other', { epoch: EIGHT }, {}],
    ['the main one', {}, { epoch: EIGHT }],
    ['either', {}, {}],
  ])('begins together with another when %s knows no epoch', async (_which, main, other) => {
    expect(await timesOf(main, { ...other, offset_ns: -2 * S })).toEqual([
      ['meter', -1],
      [undefined, 0],
      ['meter', 0],
      [undefined, 10],
    ]);
  });

  test('cannot hold one that began months away', () => {
    const main = traceOf([], { epoch: EIGHT });
    const trace = traceOf([], { epoch: '2026-08-25T08:00:00.000000000Z' });
    expect(() => mergeTraces(main, [{ trace, offset_ns: 0, recorder: 'meter' }])).toThrow(
      new InputError(
        'meter began -92 days from the main recording, a trace reaches 4000000 s',
        {},
        'check the clocks of both recorders, and the offset',
      ),
    );
  });
});

describe('labels', () => {
  test("are the recorder's, main's from its header, and one already there stays", async () => {
    const main = traceOf([noteAt(0)], { recorder: 'capture' });
    const labelled = { ...noteAt(2), recorder: 'channel 2' };
    const trace = traceOf([noteAt(1), labelled], {});
    const merged = mergeTraces(main, [{ trace, offset_ns: 0, recorder: 'meter' }]);
    expect(merged.header).toBe(main.header);
    expect((await allOf(merged)).map(({ recorder }) => recorder)).toEqual([
      'capture',
      'meter',
      'channel 2',
    ]);
  });
});

describe('order', () => {
  const times = fc.array(fc.integer({ min: -20, max: 20 }), { maxLength: 30 });
  const inputs = fc.record({
    main: times,
    others: fc.array(fc.record({ times, offset: fc.integer({ min: -5, max: 5 }) }), {
      maxLength: 4,
    }),
    size: fc.integer({ min: 1, max: 7 }),
    sorted: fc.boolean(),
  });

  test('a merge holds every observation, each recorder in its own order, sorted when all are', async () => {
    await fc.assert(
      fc.asyncProperty(inputs, async ({ main, others, size, sorted }) => {
        const listOf = (given: number[], name: string): Observation[] =>
          (sorted ? given.toSorted((a, b) => a - b) : given).map((at, index) =>
            noteAt(at, `${name} ${index}`),
          );
        const lists = [main, ...others.map((other) => other.times)].map((given, index) =>
          listOf(given, String(index)),
        );
        const merged = await allOf(
          mergeTraces(
            traceOf(lists[0]!, { size, recorder: '0' }),
            others.map(({ offset }, index) => {
              const recorder = String(index + 1);
              const trace = traceOf(lists[index + 1]!, { size });
              return { trace, offset_ns: offset * S, recorder };
            }),
          ),
        );
        for (const [index, list] of lists.entries()) {
          const shift_ns = index === 0 ? 0 : others[index - 1]!.offset * S;
          const own = merged.filter(({ recorder }) => recorder === String(index));
          expect(own).toEqual(
            list.map((note) =>
              Object.assign({}, note, { at_ns: note.at_ns + shift_ns, recorder: String(index) }),
            ),
          );
        }
        expect(merged).toHaveLength(lists.flat().length);
        if (!sorted) return;
        // Stable: by time, then by the order in which the recordings were given.
        const again = merged.toSorted(
          (a, b) => a.at_ns - b.at_ns || Number(a.recorder) - Number(b.recorder),
        );
        expect(merged).toEqual(again);
      }),
      { numRuns: 300 },
    );
  });

  test('of many thousand observations, comes in several batches that hold each once', async () => {
    const list = Array.from({ length: 10_000 }, (_, index) => noteAt(index / 1000, String(index)));
    const trace = traceOf(list, { size: 3000 });
    const all: Observation[] = [];
    let batches = 0;
    for await (const batch of mergeTraces(trace, []).observations) {
      expect(batch.length).toBeLessThanOrEqual(4096);
      all.push(...batch);
      batches += 1;
    }
    expect(all).toEqual(list);
    expect(batches).toBe(3);
  });

  test('batches stay small, and every source is closed when the reader stops early', async () => {
    let closed = 0;
    async function* endless(step: number): AsyncGenerator<Observation[]> {
      try {
        for (let at = 0; ; at += step) yield [noteAt(at), noteAt(at + step / 2)];
      } finally {
        closed += 1;
      }
    }
    const open = (step: number): ReturnType<typeof traceOf> => {
      return { ...traceOf([], {}), observations: endless(step) };
    };
    const others = [2, 3].map((step) => {
      return { trace: open(step), offset_ns: 0, recorder: `every ${step} s` };
    });
    for await (const batch of mergeTraces(open(1), others).observations) {
      expect(batch.length).toBeLessThanOrEqual(4096);
      break;
    }
    expect(closed).toBe(3);
  });

  test('an error of one recording ends the merge and closes the others', async () => {
    let closed = false;
    async function* other(): AsyncGenerator<Observation[]> {
      try {
        for (let at = 0; ; at += 1) yield [noteAt(at)];
      } finally {
        closed = true;
      }
    }
    const main = { ...traceOf([], {}), observations: other() };
    const trace = { ...traceOf([], {}), observations: failing() };
    const merged = mergeTraces(main, [{ trace, offset_ns: 0, recorder: 'meter' }]);
    await expect(allOf(merged)).rejects.toThrow('bad cell');
    expect(closed).toBe(true);
  });
});
