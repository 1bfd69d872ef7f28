// `replay` around an engine that gives what a test needs: exit codes, order, interruption, faults, output forms.
import { mkdir, mkdtemp, rm, symlink, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { basename, join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Engine, ReplaySettings } from '../../src/cli/engine.ts';
import { run } from '../../src/cli/run.ts';
import type { FileResult, Result } from '../../src/rules/result.ts';
import { InputError } from '../../src/trace/input-error.ts';
import { file, heldSession, session, undecidedSession } from '../report/sample.ts';
import { fakeIo, type FakeIo, type Fakes } from './fake-io.ts';

let folder: string;

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'handfast-'));
  await mkdir(join(folder, 'quay/b'), { recursive: true });
  await mkdir(join(folder, 'empty/.hidden'), { recursive: true });
  for (const name of ['quay/z.holds', 'quay/b/a.broken', 'quay/B.holds', 'empty/.hidden/a.holds']) {
    await writeFile(join(folder, name), `capture ${name}`);
  }
  await writeFile(join(folder, 'quay/notes.txt'), 'nothing to replay');
  await writeFile(join(folder, 'quay/.hidden'), 'capture');
  await symlink(folder, join(folder, 'quay/loop'));
});

afterAll(() => rm(folder, { recursive: true }));

/** Judges by the file name's ending. */
const engine: Engine = {
  inWorkers: false,
  isInput: (bytes) => Buffer.from(bytes).toString().startsWith('capture'),
  replay: async (path, _settings, onSession): Promise<FileResult> => {
    const ending = basename(path).split('.').at(-1);
    const one = {
      holds: heldSession,
      broken: session(),
      inconclusive: undecidedSession,
      halfway: heldSession,
    }[ending!];
    if (one !== undefined) onSession(one, file(path, []).epoch, null);
    if (one !== undefined && ending !== 'halfway') return file(path, [one]);
    if (ending === 'fault') throw new TypeError('cannot read properties of undefined');
    throw new InputError('neither a capture nor a trace', { file: path }, 'give a capture');
  },
};

async function replay(
  argv: string[],
  fakes: Fakes = {},
  use: Engine = engine,
): Promise<FakeIo & { code: number }> {
  const fake = fakeIo(fakes);
  const code = await run(['replay', ...argv], fake.io, async () => use);
  return { ...fake, code };
}

/** Files that exist, one for each ending. */
async function files(...endings: string[]): Promise<string[]> {
  const paths = endings.map((ending, index) => join(folder, `one${index}.${ending}`));
  for (const path of paths) await writeFile(path, 'capture');
  return paths;
}

describe('exit codes', () => {
  it.each([
    [['holds'], 0],
    [['broken'], 1],
    [['inconclusive'], 3],
    [['unreadable'], 4],
    [['fault'], 70],
    [['holds', 'inconclusive'], 3],
    [['holds', 'inconclusive', 'unreadable'], 4],
    [['unreadable', 'broken', 'holds', 'inconclusive'], 1],
    [['broken', 'unreadable', 'fault', 'inconclusive'], 70],
  ])('%s gives %d', async (endings, code) => {
    expect((await replay(await files(...endings))).code).toBe(code);
  });

  it.each([
    ['no path', []],
    ['an unknown option', ['--jsn', 'a']],
    ['--json and --jsonl', ['a', '--json', '--jsonl']],
    ['jobs that are no number', ['a', '--jobs', 'many']],
    ['no jobs at all', ['a', '--jobs', '0']],
    ['an offset before its recording', ['a', '--offset', '1', '--with', 'b']],
    ['two offsets', ['a', '--with', 'b', '--offset', '1', '--offset', '2']],
    ['an offset that is no number', ['a', '--with', 'b', '--offset', 'soon']],
    ['a deadline of nothing', ['a', '--crash-deadline', '0']],
    ['a width too small', ['a', '--width', '10']],
  ])('%s gives 2 and reads nothing', async (_name, argv) => {
    const untouched: Engine = {
      ...engine,
      replay: () => Promise.reject(new Error('something was read')),
    };
    const { code, stdout, stderr } = await replay(argv, {}, untouched);
    expect(code).toBe(2);
    expect(stdout()).toBe('');
    expect(stderr()).toMatch(/^handfast: /);
  });
});

function names(stdout: string): string[] {
  return (JSON.parse(stdout) as Result).files.map((one) => one.file.slice(folder.length + 1));
}

describe('paths', () => {
  it('walks a folder in order, by content, without dot files, without following links to folders', async () => {
    const { code, stdout } = await replay([join(folder, 'quay'), '--json']);
    expect(names(stdout())).toEqual(['quay/B.holds', 'quay/b/a.broken', 'quay/z.holds']);
    expect(code).toBe(1);
  });

  it('takes a named file whatever it holds, once', async () => {
    const path = join(folder, 'quay/notes.txt');
    const { code, stdout } = await replay([path, path, '--json']);
    expect(names(stdout())).toEqual(['quay/notes.txt']);
    expect(code).toBe(4);
  });

  it('names a missing path, and tells the rest', async () => {
    const missing = join(folder, 'missing.pcapng');
    const { code, stdout } = await replay([missing, join(folder, 'quay/z.holds')]);
    expect(code).toBe(4);
    expect(stdout().replace(/\s+/g, '')).toContain(`${missing}:nosuchfileorfolder`);
    expect(stdout()).toContain('z.holds');
  });

  it('a folder without captures cannot be read', async () => {
    const { code, stdout } = await replay([join(folder, 'empty')]);
    expect(code).toBe(4);
    expect(stdout()).toContain('no capture and no trace');
  });
});

describe('options reach the engine', () => {
  it('with the offset of each recording, exact to the nanosecond', async () => {
    const [one] = await files('holds');
    const seen: ReplaySettings[] = [];
    const watching: Engine = {
      ...engine,
      replay: (path, settings, onSession) => {
        seen.push(settings);
        return engine.replay(path, settings, onSession);
      },
    };
    const argv = `${one} --with m.csv --offset -0.000000001 --with p.jsonl --with q --offset 1.1 --strict --crash-deadline 250`;
    await replay(argv.split(' '), {}, watching);
    expect(seen).toMatchObject([
      {
        strict: true,
        crashDeadline_ms: 250,
        with: [
          { path: 'm.csv', offset_ns: -1 },
          { path: 'p.jsonl', offset_ns: 0 },
          { path: 'q', offset_ns: 1_100_000_000 },
        ],
      },
    ]);
  });

  it('--with needs a single recording', async () => {
    const { code, stderr } = await replay([...(await files('holds', 'holds')), '--with', 'm.csv']);
    expect(code).toBe(2);
    expect(stderr()).toContain('--with belongs to a single recording');
  });
});

describe('the last line of a failure', () => {
  it('is the command that shows it, quoted, with the options that decide', async () => {
    const path = join(folder, "it's a $HOME.broken");
    await writeFile(path, 'capture');
    const argv = [
      path,
      '--strict',
      '--with',
      'm.csv',
      '--offset',
      '-1.50',
      '--crash-deadline',
      '80',
    ];
    const { stdout } = await replay(argv);
    const quoted = `'${path.replace("'", "'\\''")}'`;
    expect(stdout().trimEnd().split('\n').at(-1)).toBe(
      `handfast replay --strict --crash-deadline 80 --with m.csv --offset -1.5 ${quoted}`,
    );
  });

  it('names only the files with the verdict it shows', async () => {
    const [, bad] = await files('holds', 'broken');
    const { stdout } = await replay([join(folder, 'one0.holds'), bad!]);
    expect(stdout().trimEnd().split('\n').at(-1)).toBe(`handfast replay ${bad}`);
  });

  it('is not there when all holds', async () => {
    const { stdout } = await replay(await files('holds'));
    expect(stdout()).not.toContain('handfast replay');
  });
});

describe('--jsonl', () => {
  it('prints one session a line, and a line without id for a file without one', async () => {
    const { code, stdout } = await replay([...(await files('holds', 'unreadable')), '--jsonl']);
    const lines = stdout()
      .trimEnd()
      .split('\n')
      .map((line) => JSON.parse(line));
    expect(lines).toMatchObject([
      { epoch: '2026-03-02T08:14:05.123456789Z', id: '1', verdict: 'holds' },
      { epoch: null, verdict: 'unreadable' },
    ]);
    expect(Object.keys(lines[0]).slice(0, 3)).toEqual(['file', 'epoch', 'id']);
    expect(lines[1]).not.toHaveProperty('id');
    expect(code).toBe(4);
  });
});

describe('a recording that breaks off', () => {
  it('keeps the sessions before', async () => {
    const { code, stdout } = await replay([...(await files('halfway')), '--json']);
    const [only] = (JSON.parse(stdout()) as Result).files;
    expect(only).toMatchObject({ verdict: 'unreadable', sessions: [{ verdict: 'holds' }] });
    expect(code).toBe(4);
  });

  it('says so after them in lines', async () => {
    const { stdout } = await replay([...(await files('halfway')), '--jsonl']);
    const lines = stdout()
      .trimEnd()
      .split('\n')
      .map((line) => JSON.parse(line));
    expect(lines).toMatchObject([{ id: '1', verdict: 'holds' }, { verdict: 'unreadable' }]);
  });
});

describe('an internal fault', () => {
  it('is one line on stderr, and the other files are told', async () => {
    const { stdout, stderr } = await replay(await files('fault', 'broken'));
    expect(stderr().trimEnd().split('\n')).toHaveLength(1);
    expect(stderr()).toMatch(/^handfast: internal fault in .*one0\.fault: cannot read/);
    expect(stdout()).toContain('one1.broken');
  });

  it('has its stack only with --debug', async () => {
    const { stderr } = await replay([...(await files('fault')), '--debug']);
    expect(stderr()).toMatch(/\n +at .*replay\.test\.ts/);
  });
});

describe('interruption', () => {
  it('tells what was finished, the rest as not replayed, and gives 130', async () => {
    const paths = await files('broken', 'holds', 'holds');
    const fake = fakeIo();
    const stuck: Engine = {
      ...engine,
      replay: (path, settings, onSession) => {
        if (path !== paths[1]) return engine.replay(path, settings, onSession);
        fake.interrupt();
        return new Promise(() => {});
      },
    };
    const code = await run(['replay', ...paths, '--json'], fake.io, async () => stuck);
    const result = JSON.parse(fake.stdout()) as Result;
    expect(code).toBe(130);
    expect(result.files.map((one) => one.verdict)).toEqual([
      'broken',
      'inconclusive',
      'inconclusive',
    ]);
    expect(result.files[1]!.reasons).toEqual(['not replayed to its end: interrupted']);
  });

  it('never holds', async () => {
    const fake = fakeIo();
    fake.interrupt();
    const code = await run(
      ['replay', ...(await files('holds')), '--json'],
      fake.io,
      async () => engine,
    );
    expect(code).toBe(130);
    expect((JSON.parse(fake.stdout()) as Result).verdict).toBe('inconclusive');
  });
});

describe('colour and width', () => {
  const escape = String.fromCharCode(27);
  it.each([
    ['a terminal', [], { terminal: true }, true],
    ['a pipe', [], {}, false],
    ['NO_COLOR', [], { terminal: true, env: { NO_COLOR: '1' } }, false],
    ['an empty NO_COLOR', [], { terminal: true, env: { NO_COLOR: '' } }, true],
    ['TERM=dumb', [], { terminal: true, env: { TERM: 'dumb' } }, false],
    ['--no-color', ['--no-color'], { terminal: true, env: { FORCE_COLOR: '1' } }, false],
    ['FORCE_COLOR', [], { env: { FORCE_COLOR: '1', NO_COLOR: '1' } }, true],
    ['FORCE_COLOR=0', [], { terminal: true, env: { FORCE_COLOR: '0' } }, false],
  ] as [string, string[], Fakes, boolean][])('%s', async (_name, argv, fakes, coloured) => {
    const { stdout } = await replay([...(await files('holds')), ...argv], fakes);
    expect(stdout().includes(escape)).toBe(coloured);
  });

  it('the width is --width, or the terminal, or 80', async () => {
    const path = (await files('broken'))[0]!;
    const widest = async (argv: string[], fakes: Fakes): Promise<number> => {
      const { stdout } = await replay([path, ...argv], fakes);
      const ruled = stdout()
        .split('\n')
        .filter((line) => line.endsWith('─'));
      return Math.max(...ruled.map((line) => line.length));
    };
    expect(await widest([], {})).toBe(80);
    expect(await widest([], { columns: 100 })).toBe(100);
    expect(await widest(['--width', '90'], { columns: 100 })).toBe(90);
  });
});

it('streams: nothing on stderr when nobody watches', async () => {
  expect((await replay(await files('broken', 'holds'))).stderr()).toBe('');
});

it('--quiet prints the verdict and the command', async () => {
  const { stdout } = await replay([...(await files('broken')), '--quiet', '--width', '120']);
  expect(stdout().trimEnd().split('\n').length).toBeLessThanOrEqual(3);
});

it('a closed pipe does not change the verdict', async () => {
  expect((await replay(await files('broken'), { closesAfter: 10 })).code).toBe(1);
});
