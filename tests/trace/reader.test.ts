import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { InputError } from '../../src/trace/input-error.ts';
import type { Observation } from '../../src/trace/observation.ts';
import { isTrace, openTrace } from '../../src/trace/reader.ts';
import { headerLine, observationLine } from '../../src/trace/writer.ts';
import { allOf, bytesOf, HEADER, observation, read } from './support.ts';

const LOCKED = '{"at":1,"kind":"lock","state":"locked"}';
const locked: Observation = { kind: 'lock', at_ns: 1_000_000_000, state: 'locked' };

function plugAt(seconds: number): string {
  return `{"at":${seconds},"kind":"plug","state":"in"}`;
}

function damaged(says: string): Observation {
  return { kind: 'note', at_ns: 1_000_000_000, says, problem: 'damaged' };
}

async function whole(content: string | Uint8Array): Promise<Observation[]> {
  return allOf(await openTrace(bytesOf(content), 'a.jsonl'));
}

/** Observations up to the error, and the error. */
async function upToError(lines: string[]): Promise<{ kept: Observation[]; error: unknown }> {
  const trace = await openTrace(bytesOf([HEADER, ...lines].join('\n')), 'a.jsonl');
  const kept: Observation[] = [];
  try {
    for await (const batch of trace.observations) kept.push(...batch);
  } catch (error) {
    return { kept, error };
  }
  return { kept, error: null };
}

describe('a trace that was written', () => {
  test('is read back the same, however its bytes are split', async () => {
    const ordered = fc
      .array(observation, { maxLength: 20 })
      .map((list) => list.sort((a, b) => a.at_ns - b.at_ns));
    await fc.assert(
      fc.asyncProperty(ordered, fc.integer({ min: 1, max: 300 }), async (list, chunkBytes) => {
        expect(await read(list.map(observationLine), chunkBytes)).toStrictEqual(list);
      }),
    );
  });

  test('has its header read back, the epoch to nine decimals', async () => {
    const line =
      '{"$schema":"x","handfast":"trace","version":1,"epoch":"2026-11-25T08:00:00.5Z","says":"é","cells":{"highest_V":4.2}}';
    const { header } = await openTrace(bytesOf(line, 1), 'a.jsonl');
    expect(header).toStrictEqual({
      handfast: 'trace',
      version: 1,
      epoch: '2026-11-25T08:00:00.500000000Z',
      says: 'é',
      cells: { highest_V: 4.2 },
    });
    expect((await openTrace(bytesOf(headerLine(header)), 'b.jsonl')).header).toStrictEqual(header);
  });
});

describe('text as tools leave it', () => {
  test.each([
    ['a byte order mark', `\uFEFF${HEADER}\n${LOCKED}\n`],
    ['carriage returns', `${HEADER}\r\n${LOCKED}\r\n`],
    ['no last newline', `${HEADER}\n${LOCKED}`],
    ['blank lines', `\n \n${HEADER}\n\n\r\n\t\n${LOCKED}\n\n`],
    ['blanks inside', ` { "epoch" : null, "version":1, "handfast":"trace" }\n  ${LOCKED}  `],
  ])('%s', async (_what, text) => {
    expect(await whole(text)).toStrictEqual([locked]);
  });

  test('a byte order mark inside the file is no part of JSON', async () => {
    const all = await read([LOCKED, `\uFEFF${LOCKED}`, LOCKED], 1);
    expect(all.map(({ kind }) => kind)).toEqual(['lock', 'note', 'lock']);
  });

  test('bytes that are no UTF-8 inside a text become replacement characters', async () => {
    const line = '{"at":1,"kind":"note","says":"caf?"}';
    const bytes = Buffer.from(`${HEADER}\n${line}`);
    bytes[bytes.indexOf('?')] = 0xe9;
    expect(await whole(bytes)).toStrictEqual([
      { kind: 'note', at_ns: 1_000_000_000, says: 'caf\uFFFD' },
    ]);
  });
});

describe('a damaged trace', () => {
  test('keeps what stands around a bad line and tells the line', async () => {
    const bad = '{"at":2,"kind":"voltage","place":"output","voltage_V":"high"}';
    expect(await read([LOCKED, bad, '{"at":', LOCKED])).toStrictEqual([
      locked,
      damaged('line 3: voltage_V must be a number, it is "high"'),
      damaged('line 4: it is no JSON: "{\\"at\\":"'),
      locked,
    ]);
  });

  test('tells a last line that breaks off, and keeps what came before', async () => {
    const text = `${HEADER}\n${LOCKED}\n${LOCKED.slice(0, -3)}`;
    const cut = 'line 3: the trace breaks off inside it';
    expect(await whole(text)).toStrictEqual([
      locked,
      { kind: 'note', at_ns: 1_000_000_000, says: cut, problem: 'cut' },
    ]);
  });

  test('cut anywhere after its header, loses only the line that is cut', async () => {
    const text = `${HEADER}\n${LOCKED}\n${LOCKED}\n`;
    for (let length = HEADER.length; length < text.length; length += 1) {
      const kept = await whole(text.slice(0, length));
      // A last line that only lacks its newline is whole.
      const lines = text.slice(0, length + 1).split('\n').length - 2;
      expect(kept.filter(({ kind }) => kind === 'lock')).toHaveLength(lines);
    }
  });

  test('gives up after 100 bad lines, not before', async () => {
    const hundred = await upToError([...Array<string>(100).fill('?!'), LOCKED]);
    expect(hundred.error).toBeNull();
    expect(hundred.kept.at(-1)).toStrictEqual(locked);
    const { kept, error } = await upToError([LOCKED, ...Array<string>(101).fill('?!'), LOCKED]);
    expect(kept[0]).toStrictEqual(locked);
    expect(kept).toHaveLength(102);
    expect(error).toBeInstanceOf(InputError);
    expect((error as InputError).place).toEqual({ file: 'a.jsonl', line: 103 });
  });

  test('tells a clock that steps back, once, also when it was told before', async () => {
    const once = await read([5, 4.5, 4.5, 6].map(plugAt));
    expect(once.map(({ kind, at_ns }) => [kind, at_ns / 1e9])).toEqual([
      ['plug', 5],
      ['note', 4.5],
      ['plug', 4.5],
      ['plug', 4.5],
      ['plug', 6],
    ]);
    expect(once[1]).toMatchObject({
      problem: 'clock',
      says: 'line 3: the clock steps back by 0.5 s',
    });
    expect(await read(once.map(observationLine))).toStrictEqual(once);
  });

  test('tells at most 100 clock steps', async () => {
    const all = await read(Array.from({ length: 1000 }, (_, index) => plugAt(-index)));
    expect(all.filter(({ kind }) => kind === 'note')).toHaveLength(100);
    expect(all.filter(({ kind }) => kind === 'plug')).toHaveLength(1000);
  });
});

describe('what is no trace', () => {
  test.each([
    ['nothing', '', 'a.jsonl: the trace is empty'],
    ['blank lines', '\n\n', 'a.jsonl: the trace is empty'],
    ['no header', LOCKED, 'a.jsonl, line 1: the first line is no header of a trace'],
    [
      'a cut header',
      '\n{"handfast":"tr',
      'a.jsonl, line 2: the first line is no header of a trace',
    ],
    [
      'another version',
      '{"handfast":"trace","version":2,"epoch":null}',
      'a.jsonl, line 1: version must be 1, it is 2',
    ],
    ['no epoch', '{"handfast":"trace","version":1}', 'a.jsonl, line 1: epoch is missing'],
    [
      'an impossible epoch',
      '{"handfast":"trace","version":1,"epoch":"2026-02-30T00:00:00Z"}',
      'a.jsonl, line 1: epoch is no time: "2026-02-30T00:00:00Z"',
    ],
    ['UTF-16', Buffer.from(`\uFEFF${HEADER}`, 'utf16le'), 'a.jsonl, line 1: this is no UTF-8 text'],
  ])('%s', async (_what, content, message) => {
    const failing = openTrace(bytesOf(content), 'a.jsonl');
    await expect(failing).rejects.toBeInstanceOf(InputError);
    await expect(failing).rejects.toThrow(message);
  });

  test('two traces one after the other, since the times of the second count from another start', async () => {
    const { kept, error } = await upToError([LOCKED, HEADER, LOCKED]);
    expect(kept).toStrictEqual([locked]);
    expect(error).toBeInstanceOf(InputError);
    expect((error as InputError).message).toMatch(/^a\.jsonl, line 3: a second header/);
  });

  test('is told from captures by its first bytes', () => {
    expect(isTrace(Buffer.from(HEADER))).toBe(true);
    expect(isTrace(Buffer.from(`\uFEFF\n ${HEADER}`))).toBe(true);
    expect(isTrace(Buffer.from(`\uFEFF${HEADER}`, 'utf16le'))).toBe(true);
    expect(isTrace(Buffer.from('time_s,voltage_V\n'))).toBe(false);
    expect(isTrace(new Uint8Array())).toBe(false);
    // The first bytes of pcapng, and of pcap in either byte order.
    expect(isTrace(Uint8Array.of(0x0a, 0x0d, 0x0d, 0x0a, 0x1c, 0, 0, 0))).toBe(false);
    expect(isTrace(Uint8Array.of(0xd4, 0xc3, 0xb2, 0xa1, 2, 0, 4, 0))).toBe(false);
    expect(isTrace(Uint8Array.of(0xa1, 0xb2, 0xc3, 0xd4, 0, 2, 0, 4))).toBe(false);
  });
});

describe('hostile input', () => {
  test('random bytes end in observations or an InputError', async () => {
    await fc.assert(
      fc.asyncProperty(fc.uint8Array({ maxLength: 2000 }), fc.boolean(), async (bytes, headed) => {
        const content = headed ? Buffer.concat([Buffer.from(`${HEADER}\n`), bytes]) : bytes;
        try {
          await whole(content);
        } catch (error) {
          expect(error).toBeInstanceOf(InputError);
        }
      }),
    );
  });

  test('bytes of a good trace overwritten at random likewise', async () => {
    const good = Buffer.from([HEADER, ...Array<string>(20).fill(LOCKED)].join('\n'));
    const spots = fc.array(fc.tuple(fc.nat({ max: good.length - 1 }), fc.nat({ max: 255 })));
    await fc.assert(
      fc.asyncProperty(spots, async (edits) => {
        const bytes = Buffer.from(good);
        for (const [spot, value] of edits) bytes[spot] = value;
        try {
          await whole(bytes);
        } catch (error) {
          expect(error).toBeInstanceOf(InputError);
        }
      }),
    );
  });

  test.each([65_536, 1_000_003])(
    'a line beyond 1 MiB is dropped, told and passed over (chunks of %d)',
    async (size) => {
      const long = `{"at":1,"kind":"note","says":"${'x'.repeat(1024 * 1024)}"}`;
      const all = await read([LOCKED, long, LOCKED], size);
      expect(all).toHaveLength(3);
      expect(all[1]).toMatchObject({ kind: 'note', problem: 'damaged' });
      expect((all[1] as { says: string }).says).toBe('line 3: it is longer than 1048576 bytes');
      expect(all[2]).toStrictEqual(locked);
    },
  );

  test('a line of just 1 MiB is read', async () => {
    const frame = '{"at":1,"kind":"note","says":""}';
    const text = 'x'.repeat(1024 * 1024 - frame.length);
    expect(await read([frame.replace('""', `"${text}"`)])).toStrictEqual([
      { kind: 'note', at_ns: 1_000_000_000, says: text },
    ]);
  });

  test.each([
    ['lists', '[', ']', 0],
    ['objects', '{"a":', '}', 1],
  ])('content nested 100,000 deep is refused: %s', async (_what, open, close, inner) => {
    const nested = (levels: number): string =>
      `{"at":1,"kind":"message","from":"vehicle","name":"x","protocol":"sdp","message":{"a":${open.repeat(levels)}${inner || ''}${close.repeat(levels)}}}`;
    const all = await read([nested(100_000), nested(900)]);
    expect(all.map(({ kind }) => kind)).toEqual(['note', 'message']);
    expect(all[0]).toMatchObject({
      problem: 'damaged',
      says: 'line 2: its content is nested deeper than 1000 levels',
    });
  });

  test('a name that every object inherits is no field', async () => {
    const all = await read(['{"at":1,"kind":"constructor"}', '{"at":1,"kind":"__proto__"}']);
    expect(all.map((note) => (note as { problem?: string }).problem)).toEqual([
      'damaged',
      'damaged',
    ]);
  });
});

describe('the source', () => {
  test.each([
    ['when the reader stops early', `${HEADER}\n${LOCKED}\n`],
    ['when there is no header', `${LOCKED}\n`],
  ])('is closed %s', async (_when, text) => {
    let closed = false;
    async function* source(): AsyncGenerator<Uint8Array> {
      try {
        for (;;) yield new TextEncoder().encode(text);
      } finally {
        closed = true;
      }
    }
    try {
      const trace = await openTrace(source(), 'a.jsonl');
      for await (const batch of trace.observations) if (batch.length > 0) break;
    } catch (error) {
      expect(error).toBeInstanceOf(InputError);
    }
    expect(closed).toBe(true);
  });

  test('of 60 MB takes bounded memory', async () => {
    const block = new TextEncoder().encode(`${`${LOCKED}\n`.repeat(1600)}`);
    const blocks = 1000;
    async function* source(): AsyncGenerator<Uint8Array> {
      yield new TextEncoder().encode(`${HEADER}\n`);
      for (let sent = 0; sent < blocks; sent += 1) yield block;
    }
    const before = process.memoryUsage.rss();
    let peak = before;
    let count = 0;
    for await (const batch of (await openTrace(source(), 'a.jsonl')).observations) {
      count += batch.length;
      peak = Math.max(peak, process.memoryUsage.rss());
    }
    expect(block.length * blocks).toBeGreaterThan(60e6);
    expect(count).toBe(1600 * blocks);
    // As objects the 1.6 million observations would take well over 100 MB.
    expect((peak - before) / 1e6).toBeLessThan(100);
  });
});
