// `handfast compare` and `handfast gate` from the command line: exit codes, and JSON against the published schemas.
import { spawnSync } from 'node:child_process';
import { cpSync, mkdtempSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { Ajv2020 } from 'ajv/dist/2020.js';
import { beforeEach, describe, expect, it } from 'vitest';
import type { GateResult } from '../../src/gate/gate.ts';
import { run } from '../../src/cli/run.ts';
import { fakeIo } from './fake-io.ts';

const ajv = new Ajv2020({ strict: true, strictTypes: false, allowUnionTypes: true });
for (const path of ['src/search/compare/compare.schema.json', 'src/gate/gate.schema.json']) {
  ajv.addSchema(JSON.parse(readFileSync(path, 'utf8')) as object);
}

async function json<T>(schema: string, code: number, ...argv: string[]): Promise<T> {
  const fake = fakeIo();
  const got = await run([...argv, '--json'], fake.io);
  expect(`${got} ${fake.stderr()}`).toBe(`${code} `);
  const value: unknown = JSON.parse(fake.stdout());
  const validate = ajv.getSchema(schema)!;
  expect(validate(value) ? null : validate.errors).toBeNull();
  return value as T;
}

const EXAMPLES = 'examples/saltmarsh';

const compare = (code: number, ...argv: string[]) =>
  json<Record<string, unknown>>(
    'urn:handfast:comparison:1',
    code,
    'compare',
    ...argv,
    '--faults',
    '0',
  );
const limits = (release: number): string => `${EXAMPLES}/limits-${release}.yaml`;
/** Enough for the mistake of release 14, and not for a whole search. */
const STATES = ['--states', '12000'];

describe('compare --json', () => {
  it('of an update that breaks a rule', async () => {
    const argv = [`${EXAMPLES}/release-13.ts`, `${EXAMPLES}/release-14.ts`, ...STATES];
    const found = await compare(1, ...argv);
    expect(found['rules']).toMatchObject([
      { rule: 'gate-before-close', before: 'inconclusive', after: 'broken' },
    ]);
  });

  it('of one whose search ends at a limit, followed over a recording', async () => {
    const argv = [`${EXAMPLES}/release-12.ts`, `${EXAMPLES}/release-13.ts`, '--states', '1000'];
    const found = await compare(3, ...argv, '--traces', 'traces/field/din-clean.pcapng');
    expect(found['verdict']).toBe('inconclusive');
    expect(found['recorded']).toMatchObject({ files: 1, sessions: 1 });
  });

  it('of a recording that only the old version explains', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'handfast-'));
    const path = join(folder, 'vehicle.json');
    const argv = ['--protocol', 'din70121', '--side', 'vehicle'];
    expect(await run(['export', ...argv, '--out', path], fakeIo().io)).toBe(0);
    // One that never asks for a weld check: the clean session does.
    const table = JSON.parse(readFileSync(path, 'utf8')) as {
      states: Record<string, { on?: Record<string, unknown> }>;
    };
    for (const state of Object.values(table.states)) delete state.on?.['choose.weld check'];
    writeFileSync(path, JSON.stringify(table));
    const traces = ['--traces', 'traces/field/din-clean.pcapng'];
    const found = await compare(1, 'bundled', path, ...argv, ...traces, '--states', '1000');
    expect(found['recorded']).toMatchObject({
      nowDiverge: [{ message: 'WeldingDetectionReq' }],
      nowExplained: [],
    });
  });

  it('of parameters', async () => {
    expect(await compare(0, limits(12), limits(12))).toMatchObject({ verdict: 'equivalent' });
    expect(await compare(0, limits(12), limits(13))).toMatchObject({ verdict: 'safe' });
    expect(await compare(1, limits(12), limits(14))).toMatchObject({ verdict: 'unsafe' });
  });
});

describe('compare at git revisions', () => {
  it('lays out the whole tree of each', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'handfast-'));
    const git = (...words: string[]): void => {
      const who = ['-c', 'user.name=a', '-c', 'user.email=a@b'];
      const { status, stderr } = spawnSync('git', ['-C', folder, ...who, ...words], {
        encoding: 'utf8',
      });
      if (status !== 0) throw new Error(stderr);
    };
    cpSync(EXAMPLES, folder, { recursive: true });
    git('init', '-q');
    git('add', '.');
    git('commit', '-qm', 'one');
    const shuttle = readFileSync(join(folder, 'release-12.ts'), 'utf8');
    writeFileSync(join(folder, 'release-12.ts'), shuttle.replace('7000', '6000'));
    git('commit', '-qam', 'two');
    const before = process.cwd();
    process.chdir(folder);
    try {
      const states = ['--states', '100'];
      const found = await json<{ changes: unknown[] }>(
        'urn:handfast:comparison:1',
        3,
        'compare',
        'HEAD~1:release-12.ts',
        'HEAD:release-12.ts',
        ...states,
      );
      expect(found.changes).toEqual([
        { what: 'delay', kind: 'changed', where: 'pre_charge', says: '7 s → 6 s' },
      ]);
    } finally {
      process.chdir(before);
    }
  });
});

const gate = (code: number, path: string, ...more: string[]): Promise<GateResult> =>
  json('urn:handfast:gate:1', code, 'gate', '--project', path, ...more);

const apart = (verdict: string) => [{ path: 'apart.pcapng', verdict }];

describe('gate', () => {
  let folder: string;
  const write = (project: object): string => {
    const path = join(folder, 'handfast.project.json');
    writeFileSync(path, JSON.stringify({ name: 'small', ...project }));
    return path;
  };
  const machines = [{ protocol: 'din70121', vehicle: resolve(EXAMPLES, 'release-13.ts') }];
  beforeEach(() => {
    folder = mkdtempSync(join(tmpdir(), 'handfast-'));
    cpSync('traces/field/din-clean.pcapng', join(folder, 'clean.pcapng'));
    cpSync('traces/field/din-closes-46v-apart.pcapng', join(folder, 'apart.pcapng'));
  });

  it('is undecided without a baseline, and passes once it is written', async () => {
    const path = write({ machines, limits: { states: 1000 }, traces: [{ path: '.' }] });
    expect((await gate(3, path)).baseline).toBe('none');
    await gate(0, path, '--update');
    const passed = await gate(0, path);
    expect(passed).toMatchObject({ verdict: 'passed', baseline: 'compared', drift: [] });
    expect(passed.checks.filter(({ name }) => name === 'replay')).toHaveLength(2);
  });

  it('fails on a recording that replays otherwise, and --update says in what', async () => {
    const path = write({ traces: [{ path: 'clean.pcapng' }] });
    await gate(0, path, '--update');
    cpSync(join(folder, 'apart.pcapng'), join(folder, 'clean.pcapng'));
    const failed = await gate(1, path);
    expect(failed.checks.find(({ outcome }) => outcome === 'failed')!.says).toContain(
      'gate-before-close: holds → broken',
    );
    const updated = await gate(0, path, '--update');
    expect(updated.drift.some(({ says }) => says.includes('holds → broken'))).toBe(true);
    await gate(0, path);
  });

  it('fails on a verdict the project does not expect, and 4 on what cannot be read', async () => {
    await gate(0, write({ traces: apart('broken') }), '--update');
    await gate(1, write({ traces: apart('holds') }));
    writeFileSync(join(folder, 'apart.pcapng'), 'no capture');
    await gate(4, write({ traces: apart('broken') }));
    await gate(4, write({ traces: [{ path: 'missing.pcap' }] }), '--update');
  });

  it('fails on a broken rule whatever the baseline says, but for an exception', async () => {
    const few = { states: 12_000 };
    const broken = [{ protocol: 'din70121', vehicle: resolve(EXAMPLES, 'release-14.ts') }];
    await gate(1, write({ machines: broken, limits: few }), '--update');
    await gate(1, write({ machines: broken, limits: few }));
    const exception = { check: 'gate-before-close', in: 'din70121', reason: 'known' };
    const accepted = (until: string) =>
      write({ machines: broken, limits: few, accepted: [{ ...exception, until }] });
    await gate(0, accepted('9999-12-31'));
    await gate(1, accepted('2020-01-01'));
  });

  it('says 2 with file and line where the project or the baseline is wrong', async () => {
    const path = write({});
    const told = async (): Promise<string> => {
      const fake = fakeIo();
      expect(await run(['gate', '--project', path], fake.io)).toBe(2);
      return fake.stderr();
    };
    writeFileSync(path, '{\n  "name": "x",\n  "tests": 1\n}');
    expect(await told()).toContain('line 3: the project: there is no tests (use one of name, ');
    write({});
    writeFileSync(join(folder, 'handfast.baseline.json'), '{\n<<<<<<< ours\n}');
    expect(await told()).toMatch(/handfast\.baseline\.json, line \d/);
  });

  it('fails on what random sessions find', async () => {
    const hasty = [{ protocol: 'din70121', vehicle: resolve(EXAMPLES, 'release-14.ts') }];
    const path = write({ machines: hasty, limits: { states: 1000 }, fuzz: { runs: 32 } });
    const { checks } = await gate(1, path);
    const fuzz = checks.find(({ name }) => name === 'fuzz')!;
    expect(fuzz.outcome).toBe('failed');
    expect(fuzz.says).toMatch(/^32 random sessions, seed \d+, broke gate-before-close$/);
  });

  it('tells the commit whose hash seeds random sessions', async () => {
    const result = await gate(
      0,
      write({ machines, limits: { states: 1000 }, fuzz: { runs: 1 } }),
      '--update',
    );
    expect(result.commit).toBeNull();
    const fuzz = result.checks.find(({ name }) => name === 'fuzz')!;
    expect(fuzz.says).toMatch(/^1 random session, seed \d+: nothing found$/);
    expect(fuzz.outcome).toBe('passed');
  });
});
