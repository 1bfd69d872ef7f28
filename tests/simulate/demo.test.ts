// The demo scenarios: each gives the very trace that stands beside it, and its replay says what the scenario expects. The
// verdicts are the rules', which tests/rules check against sources of their own.
import { readdirSync, readFileSync } from 'node:fs';
import { resolve } from 'node:path';
import { describe, expect, it } from 'vitest';
import { replayTrace } from '../../src/replay/replay.ts';
import { unexpected } from '../../src/simulate/judge.ts';
import { runScenario, traceOf, traceText } from '../../src/simulate/run-scenario.ts';
import { readScenario } from '../../src/simulate/scenario-file.ts';
import { bothOf, machines } from '../support/machines.ts';

const FOLDER = resolve(import.meta.dirname, '../../traces/demo');
const LARGEST_BYTES = 300_000;
const names = readdirSync(FOLDER)
  .filter((file) => file.endsWith('.yaml'))
  .map((file) => file.slice(0, -'.yaml'.length));

it('are a dozen, each with its trace', () => {
  expect(names).toHaveLength(12);
  const traces = readdirSync(FOLDER).filter((file) => file.endsWith('.jsonl'));
  expect(traces.map((file) => file.slice(0, -'.jsonl'.length))).toEqual(names);
});

describe.each(names)('%s', (name) => {
  const file = resolve(FOLDER, `${name}.yaml`);

  it('gives its trace, byte for byte', async () => {
    const scenario = await readScenario(readFileSync(file, 'utf8'), file);
    const run = runScenario(scenario, bothOf(scenario.protocol));
    const text = traceText(run);
    expect(text.length).toBeLessThan(LARGEST_BYTES);
    // Strings of this size are compared first: a difference of them would be a long one.
    const kept = readFileSync(resolve(FOLDER, `${name}.jsonl`), 'utf8');
    expect(text === kept, firstDifference(text, kept)).toBe(true);
    const settings = { machines, strict: false, crashDeadline_ms: 100 };
    const result = await replayTrace(traceOf(run), name, settings);
    expect(scenario.expect).toBeDefined();
    expect(unexpected(result, scenario.expect!)).toBeNull();
  });
});

function firstDifference(now: string, kept: string): string {
  const [lines, others] = [now.split('\n'), kept.split('\n')];
  const at = lines.findIndex((line, index) => line !== others[index]);
  return `line ${at + 1}: now ${lines[at]?.slice(0, 200)}, kept ${others[at]?.slice(0, 200)}`;
}
