// What `replay --json` and `--jsonl` print for the field captures, against the published schema (through ajv).
import { readFileSync } from 'node:fs';
import { Ajv2020, type ValidateFunction } from 'ajv/dist/2020.js';
import { expect, it } from 'vitest';
import { run } from '../../src/cli/run.ts';
import { fakeIo } from './fake-io.ts';

const ajv = new Ajv2020({ strict: true, strictTypes: false });
ajv.addSchema(JSON.parse(readFileSync('src/rules/result.schema.json', 'utf8')) as object);

function taken(validate: ValidateFunction, value: unknown): void {
  expect(validate(value) ? null : validate.errors).toBeNull();
}

it('--json is a Result', async () => {
  const fake = fakeIo();
  expect(await run(['replay', '--json', 'traces/field', 'LICENSE'], fake.io)).toBe(1);
  const result = JSON.parse(fake.stdout()) as { files: unknown[] };
  expect(result.files).toHaveLength(15);
  taken(ajv.getSchema('urn:handfast:result:1')!, result);
});

it('a line of --jsonl is a SessionResult with its file', async () => {
  const fake = fakeIo();
  await run(['replay', '--jsonl', 'traces/field'], fake.io);
  const lines = fake.stdout().trimEnd().split('\n');
  expect(lines).toHaveLength(14);
  const validate = ajv.getSchema('urn:handfast:result:1#/$defs/SessionResult')!;
  for (const line of lines) taken(validate, JSON.parse(line));
});
