// Promise: a field capture goes in, the right verdict comes out. The captures and what each shows were made with
// general-purpose tools that share no code with handfast (tests/e2e/data/PROVENANCE.md).
import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { machines } from '../support/machines.ts';
import { openFile } from '../../src/replay/open.ts';
import { replayFile } from '../../src/replay/replay.ts';
import type { Finding, SessionResult } from '../../src/rules/result.ts';

interface Truth {
  protocol: string;
  describes: string;
  breaks_a_rule: boolean;
  rule: string | null;
  owners: string[];
  owners_allowed: string[];
  also_allowed: string[];
  first_bad_frame: number | null;
  frames: number;
  messages: [number, string, string][];
}

const truth = JSON.parse(
  readFileSync(new URL('data/truth.json', import.meta.url), 'utf8'),
) as Record<string, Truth>;
const pathOf = (name: string): string =>
  new URL(`../../traces/field/${name}`, import.meta.url).pathname;

async function replay(name: string): Promise<SessionResult> {
  const options = { machines, strict: false, crashDeadline_ms: 100, with: [] };
  const result = await replayFile(pathOf(name), options);
  expect(result.sessions).toHaveLength(1);
  return result.sessions[0]!;
}

async function times(name: string): Promise<Map<number, number>> {
  const at = new Map<number, number>();
  const trace = await openFile(pathOf(name), []);
  for await (const batch of trace.observations) {
    for (const one of batch) if (one.frame !== undefined) at.set(one.frame, one.at_ns / 1e9);
  }
  return at;
}

const breaches = (session: SessionResult): Finding[] =>
  session.findings.filter((one) => one.class === 'safety' && one.status === 'breach');

describe.each(Object.entries(truth))('%s', (name, expected) => {
  test('every message has its frame, sender and name', async () => {
    const seen: [number, string, string][] = [];
    const trace = await openFile(pathOf(name), []);
    for await (const batch of trace.observations) {
      for (const one of batch) {
        if (one.kind !== 'message' || one.protocol === 'slac' || one.protocol === 'sdp') continue;
        seen.push([one.frame!, one.from, one.name]);
      }
    }
    expect(seen).toEqual(expected.messages);
  });

  test(expected.describes, async () => {
    const session = await replay(name);
    expect(session.protocol).toBe(expected.protocol);
    if (!expected.breaks_a_rule) {
      expect(session.findings.filter((one) => one.class === 'safety')).toEqual([]);
      expect(session.verdict).toBe('holds');
      expect(session.summary.divergences).toEqual([]);
      return;
    }
    expect(session.verdict).toBe('broken');
    const found = breaches(session);
    const [root] = found;
    expect(session.findings[0]).toBe(root);
    expect(root!.causedBy).toBeNull();
    expect(root!.rule).toBe(expected.rule);
    expect(root!.owners).toEqual(expect.arrayContaining(expected.owners));
    for (const owner of root!.owners) {
      expect([...expected.owners, ...expected.owners_allowed]).toContain(owner);
    }
    const allowed = [expected.rule, ...expected.also_allowed];
    for (const one of session.findings.filter(({ class: kind }) => kind === 'safety')) {
      expect(allowed).toContain(one.rule);
      expect(one.frame).toBeGreaterThanOrEqual(expected.first_bad_frame!);
    }
    const at = await times(name);
    const late_s = root!.at - at.get(expected.first_bad_frame!)!;
    expect(late_s).toBeGreaterThanOrEqual(0);
    expect(late_s).toBeLessThanOrEqual(2);
  });
});
