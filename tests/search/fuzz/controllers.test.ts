// The example controllers in C and in Python: tried by a few sessions, they keep every rule.
import { mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { run } from '../../../src/cli/run.ts';
import { fakeIo } from '../../cli/fake-io.ts';
import { runTool, toolSkipped } from '../../support/tools.ts';

async function tried(side: string, command: string): Promise<string> {
  const fake = fakeIo();
  const words = ['fuzz', '--seed', '1', '--runs', '40', '--workers', '1', side, `exec:${command}`];
  expect(await run(words, fake.io), fake.stdout()).toBe(0);
  return fake.stdout();
}

it.skipIf(toolSkipped('gcc', 'the example charger in C'))(
  'the charger in C',
  async () => {
    const charger = join(mkdtempSync(join(tmpdir(), 'handfast-')), 'charger');
    runTool('gcc', ['-O2', '-Wall', '-Werror', '-o', charger, 'examples/controllers/charger.c']);
    expect(await tried('--charger', charger)).toMatch(
      /charger +a program: it is fuzzed, never proved/,
    );
  },
  120_000,
);

it.skipIf(toolSkipped('python3', 'the example vehicle in Python'))(
  'the vehicle in Python',
  async () => {
    const told = await tried('--vehicle', 'python3 examples/controllers/vehicle.py');
    expect(told).toMatch(/vehicle +a program: it is fuzzed, never proved/);
  },
  120_000,
);
