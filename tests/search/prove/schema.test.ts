// Real outputs of `prove` against the published schema (JSON Schema 2020-12, through ajv), and nothing in them that it
// does not describe.
import { readFileSync } from 'node:fs';
import { Ajv2020 } from 'ajv/dist/2020.js';
import { beforeAll, describe, expect, it } from 'vitest';
import { protocols } from '../../../src/protocols/index.ts';
import { prove } from '../../../src/search/prove/prove.ts';
import type { ProveResult } from '../../../src/search/prove/prove-result.ts';
import { brokenMachines } from '../../support/broken-machines.ts';
import { machines } from '../../support/machines.ts';

type Schema = { [key: string]: unknown };

const schema = JSON.parse(readFileSync('src/search/prove/prove.schema.json', 'utf8')) as Schema;

/** The same, but no object may have a key that is not described. */
function closed(value: unknown): unknown {
  if (Array.isArray(value)) return value.map(closed);
  if (value === null || typeof value !== 'object') return value;
  const inner = Object.fromEntries(Object.entries(value).map(([key, one]) => [key, closed(one)]));
  return 'properties' in inner && inner.type === 'object'
    ? { ...inner, additionalProperties: false }
    : inner;
}

const ajv = { strict: true, strictTypes: false, allErrors: true } as const;
const validate = new Ajv2020(ajv).compile(closed(schema) as Schema);

const errorsOf = (result: unknown): unknown =>
  validate(JSON.parse(JSON.stringify(result))) ? null : validate.errors;

async function found(rule: string | null): Promise<ProveResult> {
  const mistake = brokenMachines.find((one) => one.rule === rule);
  const pair = machines[mistake?.protocol ?? 'din70121']!;
  const changed = mistake === undefined ? {} : { [mistake.side]: mistake.make() };
  const protocol = protocols[mistake?.protocol ?? 'din70121'];
  return prove({ ...pair, ...changed, protocol, faults: 0, limits: { states: 60_000 } });
}

describe('prove.schema.json', () => {
  let broken: ProveResult;
  beforeAll(async () => {
    broken = await found('gate-before-close');
  }, 120_000);

  it('takes a breach with its counterexample', () => {
    expect(broken.verdict).toBe('broken');
    expect(errorsOf(broken)).toBeNull();
  });

  it('takes a search that stopped at a limit', async () => {
    const result = await found(null);
    expect(result.stoppedBy).toBe('states');
    expect(errorsOf(result)).toBeNull();
  }, 120_000);

  it('refuses what is no result', () => {
    expect(errorsOf({ ...broken, verdict: 'safe' })).not.toBeNull();
    expect(errorsOf({ ...broken, states: -1 })).not.toBeNull();
    expect(errorsOf({ ...broken, coverage: { vehicle: broken.coverage.vehicle } })).not.toBeNull();
  });

  it('describes every property', () => {
    for (const [name, definition] of Object.entries(schema.$defs as Record<string, Schema>)) {
      expect(definition.description, name).toBeTypeOf('string');
      for (const [key, property] of Object.entries(
        (definition.properties ?? {}) as Record<string, Schema>,
      )) {
        expect(property.description, `${name}.${key}`).toBeTypeOf('string');
      }
    }
  });
});
