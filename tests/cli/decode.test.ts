// `decode` and `encode`. Expected values: the byte vectors of a general-purpose W3C EXI implementation
// (tests/wire/exi/data), and the field captures.
import { readFileSync } from 'node:fs';
import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { run } from '../../src/cli/run.ts';
import { fakeIo, type Fakes } from './fake-io.ts';

interface Vector {
  exi: string;
  message: unknown;
}

const SCHEMAS = ['app-protocol', 'din70121', 'iso15118-2'];
const CLEAN = 'traces/field/din-clean.pcapng';

function vectors(schema: string): Vector[] {
  return JSON.parse(readFileSync(`tests/wire/exi/data/exi-${schema}.json`, 'utf8')) as Vector[];
}

async function handfast(
  argv: string[],
  fakes: Fakes = {},
): Promise<{ code: number; stdout: string; stderr: string }> {
  const fake = fakeIo(fakes);
  const code = await run(argv, fake.io);
  return { code, stdout: fake.stdout(), stderr: fake.stderr() };
}

describe.each(SCHEMAS)('%s', (schema) => {
  const all = vectors(schema);
  const hex = all.map(({ exi }) => `${exi}\n`).join('');
  const messages = all.map(({ message }) => `${JSON.stringify(message)}\n`).join('');

  it('decode --hex gives every message of the vectors, a line each', async () => {
    const { code, stdout } = await handfast(['decode', '--hex', '--schema', schema], {
      stdin: hex,
    });
    expect(stdout).toBe(messages);
    expect(code).toBe(0);
  });

  it('encode gives the bytes back', async () => {
    const { code, stdout } = await handfast(['encode', '--schema', schema], { stdin: messages });
    expect(stdout).toBe(hex);
    expect(code).toBe(0);
  });
});

describe('decode --hex', () => {
  const app = ['decode', '--hex', '--schema', 'app-protocol'];
  const [{ exi, message } = { exi: '', message: null }] = vectors('app-protocol');

  it.each([
    ['upper case', exi.toUpperCase()],
    ['0x', `0x${exi}`],
    ['spaces', `  ${exi.replace(/../g, '$& ')}\t`],
    ['no newline at the end, carriage return', `${exi}\r`],
    ['blank lines around', `\n \n${exi}\n\n`],
  ])('reads %s', async (_name, stdin) => {
    const { code, stdout } = await handfast(app, { stdin });
    expect(stdout).toBe(`${JSON.stringify(message)}\n`);
    expect(code).toBe(0);
  });

  it('keeps a line for each line, names what is wrong, and gives 4', async () => {
    const stdin = `${exi}\nno hex\n${exi}0\n${exi}\n80ff\n`;
    const { code, stdout } = await handfast(app, { stdin });
    const lines = stdout
      .trimEnd()
      .split('\n')
      .map((line) => JSON.parse(line));
    expect(code).toBe(4);
    expect(lines).toHaveLength(5);
    expect(lines[0]).toEqual(message);
    expect(lines[1].error).toMatch(/^line 2, byte 0: "n" is no hexadecimal digit/);
    expect(lines[2].error).toMatch(/^line 3: half a byte/);
    expect(lines[3]).toEqual(message);
    expect(lines[4].error).toMatch(/^line 5/);
  });

  it('reads lines however the bytes arrive', async () => {
    const bytes = Buffer.from(`${exi}\n${exi}\n`);
    const stdin = [...bytes].map((byte) => Uint8Array.of(byte));
    const { stdout } = await handfast(app, { stdin });
    expect(stdout).toBe(`${JSON.stringify(message)}\n`.repeat(2));
  });

  it('lets a line without end go in bounded memory, and reads the next', async () => {
    const chunk = Buffer.alloc(1 << 20, 'a');
    const stdin = [...Array.from({ length: 9 }, () => chunk), Buffer.from(`\n${exi}\n`)];
    const { code, stdout } = await handfast(app, { stdin });
    const lines = stdout
      .trimEnd()
      .split('\n')
      .map((line) => JSON.parse(line));
    expect(lines[0].error).toMatch(/^line 1: longer than/);
    expect(lines[1]).toEqual(message);
    expect(code).toBe(4);
  });

  it.each([
    ['no schema', ['decode', '--hex']],
    ['a foreign schema', ['decode', '--hex', '--schema', 'din70122']],
    ['a file beside it', ['decode', '--hex', '--schema', 'din70121', 'x']],
    ['a schema without it', ['decode', 'x', '--schema', 'din70121']],
    ['nothing', ['decode']],
    ['encode without schema', ['encode']],
  ])('%s gives 2', async (_name, argv) => {
    const { code, stderr } = await handfast(argv);
    expect(code).toBe(2);
    expect(stderr).toMatch(/^handfast: /);
  });
});

describe('encode', () => {
  it('keeps a line for each line and gives 4', async () => {
    const stdin = 'no json\n[]\n{"nothing":{}}\n';
    const { code, stdout } = await handfast(['encode', '--schema', 'din70121'], { stdin });
    const lines = stdout
      .trimEnd()
      .split('\n')
      .map((line) => JSON.parse(line) as object);
    expect(lines).toHaveLength(3);
    for (const line of lines) expect(Object.keys(line)).toEqual(['error']);
    expect(code).toBe(4);
  });
});

describe('decode of a recording', () => {
  let folder: string;
  beforeAll(async () => {
    folder = await mkdtemp(join(tmpdir(), 'handfast-'));
  });
  afterAll(() => rm(folder, { recursive: true }));

  it('prints a header, then a line for each message of the capture', async () => {
    const { code, stdout, stderr } = await handfast(['decode', CLEAN]);
    const [header, ...lines] = stdout
      .trimEnd()
      .split('\n')
      .map((line) => JSON.parse(line));
    const truth = JSON.parse(readFileSync('tests/e2e/data/truth.json', 'utf8')) as Record<
      string,
      { messages: [number, string, string][] }
    >;
    expect(header).toMatchObject({ handfast: 'trace', version: 1 });
    const told = lines
      .filter((line) => line.kind === 'message' && line.link !== undefined)
      .map((line) => [line.frame, line.from, line.name]);
    expect(told).toEqual(truth['din-clean.pcapng']!.messages);
    expect(code).toBe(0);
    expect(stderr).toBe('');
  });

  it('reads standard input, and its own output gives itself', async () => {
    const first = await handfast(['decode', '-'], { stdin: [readFileSync(CLEAN)] });
    const second = await handfast(['decode', '-'], { stdin: first.stdout });
    expect(second.stdout).toBe(first.stdout);
    expect(first.code).toBe(0);
  });

  it('says on a terminal, once, that identifiers are exact', async () => {
    const { stderr } = await handfast(['decode', CLEAN], { terminal: true });
    expect(stderr.match(/exact/g)).toHaveLength(1);
    expect((await handfast(['decode', CLEAN, '--quiet'], { terminal: true })).stderr).toBe('');
  });

  it('keeps what is before a cut, tells the cut, and gives 3', async () => {
    const whole = readFileSync(CLEAN);
    const stdin = [whole.subarray(0, whole.length - 1000)];
    const { code, stdout, stderr } = await handfast(['decode', '-'], { stdin });
    expect(stdout.split('\n').length).toBeGreaterThan(100);
    expect(stderr).toMatch(/^handfast: standard input, /);
    expect(code).toBe(3);
  });

  it.each([
    ['a missing file', 'missing.pcapng', null, 'no such file'],
    ['an empty file', 'empty', '', 'empty'],
    ['another file', 'readme', 'hello', 'neither a capture nor a trace'],
    ['JSON that is no trace', 'package.json', '{"name":"x"}\n', 'no header of a trace'],
    ['a folder', '.', null, 'folder'],
  ])('%s gives 4 and its name', async (_name, name, content, reason) => {
    const path = join(folder, name);
    if (content !== null) await writeFile(path, content);
    const { code, stdout, stderr } = await handfast(['decode', path]);
    expect(stderr).toContain(path);
    expect(stderr).toContain(reason);
    expect(stdout).toBe('');
    expect(code).toBe(4);
  });

  it('a terminal gets no control characters, a pipe gets the exact line', async () => {
    const csi = String.fromCharCode(0x9b);
    const stdin = `{"handfast":"trace","version":1,"epoch":null}\n{"at":0,"kind":"note","says":"x${csi}31m"}\n`;
    const piped = await handfast(['decode', '-'], { stdin });
    const shown = await handfast(['decode', '-'], { stdin, terminal: true });
    expect(piped.stdout).toContain(csi);
    expect(shown.stdout).not.toContain(csi);
    expect(JSON.parse(shown.stdout.split('\n')[1]!)).toEqual(
      JSON.parse(piped.stdout.split('\n')[1]!),
    );
  });

  it('stops when nobody reads', async () => {
    const { code } = await handfast(['decode', CLEAN], { closesAfter: 10 });
    expect(code).toBe(0);
  });
});
