// What only a process can show: its streams, pipes, signals and start.
import { spawn, spawnSync, type ChildProcess } from 'node:child_process';
import { once } from 'node:events';
import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { performance } from 'node:perf_hooks';
import { setTimeout as sleep } from 'node:timers/promises';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { VERSION } from '../../src/cli/version.ts';
import { shellQuote } from '../../src/cli/shell.ts';
import { builtProgram } from './built.ts';

const CLEAN = 'traces/field/din-clean.pcapng';

let main: string;
let remove: () => void;

beforeAll(() => {
  ({ main, remove } = builtProgram());
}, 120_000);

afterAll(() => remove());

function handfast(...argv: string[]): { code: number | null; stdout: string; stderr: string } {
  const { status, stdout, stderr } = spawnSync(process.execPath, [main, ...argv], {
    encoding: 'utf8',
    env: { PATH: process.env.PATH },
  });
  return { code: status, stdout, stderr };
}

/** Through a shell, `handfast` being the program. */
function shell(script: string): { code: number | null; stdout: string; stderr: string } {
  const { status, stdout, stderr } = spawnSync(
    'bash',
    [
      '--norc',
      '-c',
      `handfast() { ${shellQuote(process.execPath)} ${shellQuote(main)} "$@"; }; ${script}`,
    ],
    { encoding: 'utf8', env: { PATH: process.env.PATH } },
  );
  return { code: status, stdout, stderr };
}

it('prints its version, the one of package.json', () => {
  const { version } = JSON.parse(readFileSync('package.json', 'utf8')) as { version: string };
  expect(handfast('--version')).toEqual({ code: 0, stdout: `${version}\n`, stderr: '' });
  expect(VERSION).toBe(version);
});

/** Milliseconds, the median of five runs. */
function took(argv: string[]): number {
  const times = Array.from({ length: 5 }, () => {
    const start = performance.now();
    spawnSync(process.execPath, argv);
    return performance.now() - start;
  });
  return times.sort((a, b) => a - b)[2]!;
}

it('starts fast: help within five times the start of Node alone', () => {
  // A ratio taken in the same run, because the machine's speed is anyone's guess; about 1.8 when this was written.
  expect(took([main, '--help'])).toBeLessThan(5 * took(['-e', '0']));
});

describe('workers', () => {
  it('give what one thread gives, in the same order', () => {
    const alone = handfast('replay', '--json', '--jobs', '1', 'traces/field');
    const three = handfast('replay', '--json', '--jobs', '3', 'traces/field');
    expect(JSON.parse(alone.stdout)).toMatchObject({ verdict: 'broken' });
    expect(three).toEqual(alone);
  });

  it('tell an unreadable file beside the others', () => {
    const { code, stdout, stderr } = handfast('replay', '--jsonl', '--jobs', '2', 'LICENSE', CLEAN);
    const lines = stdout
      .trimEnd()
      .split('\n')
      .map((line) => JSON.parse(line));
    expect(lines).toMatchObject([{ file: 'LICENSE', verdict: 'unreadable' }, { file: CLEAN }]);
    expect({ code, stderr }).toEqual({ code: 4, stderr: '' });
  });
});

describe('a pipe', () => {
  it('closed by its reader ends decode quietly', () => {
    const { stdout, stderr } = shell(
      `handfast decode ${CLEAN} | head -n 1 | cut -c 1-19; echo "\${PIPESTATUS[0]}"`,
    );
    expect(stdout).toBe('{"handfast":"trace"\n0\n');
    expect(stderr).toBe('');
  });

  it('feeds one handfast from another', () => {
    const { stdout, stderr } = shell(
      `handfast decode ${CLEAN} | handfast decode - | cmp - <(handfast decode ${CLEAN}); echo $?`,
    );
    expect({ stdout, stderr }).toEqual({ stdout: '0\n', stderr: '' });
  });
});

async function started(argv: string[]): Promise<ChildProcess> {
  const child = spawn(process.execPath, [main, ...argv], { stdio: 'pipe' });
  child.stdin!.write('{"handfast":"trace","version":1,"epoch":null}\n');
  child.stdin!.write(`${'{"at":0,"kind":"plug","state":"in"}\n'.repeat(5000)}`);
  await once(child.stdout!, 'data');
  return child;
}

describe('Ctrl-C', () => {
  it('while waiting for input says so and gives 130', async () => {
    const child = await started(['decode', '-']);
    let told = '';
    child.stderr!.on('data', (chunk: Buffer) => (told += chunk.toString()));
    child.kill('SIGINT');
    const [code] = (await once(child, 'close')) as [number];
    expect(told).toContain('handfast: interrupted');
    expect(code).toBe(130);
  });

  it('ends a search: what was covered is told', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'handfast-prove-'));
    try {
      // The model is written just before its search begins.
      const model = join(folder, 'model.pml');
      const argv = ['prove', '--faults', '2', '--promela', model];
      const child = spawn(process.execPath, [main, ...argv], { stdio: 'pipe' });
      const closed = once(child, 'close');
      let told = '';
      child.stdout.on('data', (chunk: Buffer) => (told += chunk.toString()));
      while (!existsSync(model)) await sleep(50);
      await sleep(200);
      child.kill('SIGINT');
      const [code] = (await closed) as [number];
      expect(told).toMatch(/^INCONCLUSIVE: nothing was broken in \d+ states, but the search was/);
      expect(told).toContain('Taken by some run');
      expect(code).toBe(130);
    } finally {
      rmSync(folder, { recursive: true });
    }
  }, 60_000);
});
