// --junit, --sarif and --markdown beside what a command prints.
import { mkdtempSync, readFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { run } from '../../src/cli/run.ts';
import { fakeIo } from './fake-io.ts';

const folder = mkdtempSync(join(tmpdir(), 'handfast-'));
const CAPTURE = 'traces/field/iso2-demand-under-foreign-session.pcapng';
const MAC = /[0-9a-f]{2}(:[0-9a-f]{2}){5}/i;

async function written(name: string, ...more: string[]): Promise<string[]> {
  const paths = ['xml', 'sarif', 'md'].map((kind) => join(folder, `${name}.${kind}`));
  const [xml, sarif, md] = paths as [string, string, string];
  const argv = ['replay', CAPTURE, '--junit', xml, '--sarif', sarif, '--markdown', md, ...more];
  expect(await run(argv, fakeIo().io)).toBe(1);
  return paths.map((path) => readFileSync(path, 'utf8'));
}

it('are written whatever is printed, and hold no identifier', async () => {
  const fake = fakeIo();
  await run(['replay', CAPTURE], fake.io);
  const [, session] = /SessionID ([0-9A-F]{16});/.exec(fake.stdout())!;
  expect(fake.stdout()).toMatch(MAC);
  for (const more of [[], ['--json'], ['--jsonl']]) {
    for (const text of await written('shown', ...more)) {
      expect(text).toContain('fresh-consent');
      expect(text).not.toMatch(MAC);
      expect(text).not.toContain(session);
      expect(text).toContain('session-1');
    }
  }
});

it('hold identifiers where they are asked for', async () => {
  const [xml] = await written('identities', '--identities');
  expect(xml).toMatch(/SessionID [0-9A-F]{16}|session [0-9A-F]{16}/);
});

it('are refused before anything is read where they cannot be written', async () => {
  const fake = fakeIo();
  const argv = ['replay', 'missing.pcap', '--junit', 'no-such-folder/x.xml'];
  expect(await run(argv, fake.io)).toBe(2);
  expect(fake.stderr()).toContain('no-such-folder/x.xml cannot be written');
});

it('of a proof name the machine that was given', async () => {
  const path = join(folder, 'proof.sarif');
  const vehicle = 'tests/machine/data/small-vehicle.ts';
  const argv = ['prove', '--vehicle', vehicle, '--states', '2000', '--sarif', path];
  expect([1, 3]).toContain(await run(argv, fakeIo().io));
  expect(readFileSync(path, 'utf8')).toContain(`"uri": "${vehicle}"`);
});
