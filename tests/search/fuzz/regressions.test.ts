// Every finding kept in traces/regressions: its trace shows what it must show, and the plan it came from breaks nothing
// with the bundled machines.
import { readdirSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { replayFile } from '../../../src/replay/replay.ts';
import { expectedOf } from '../../../src/search/fuzz/regression.ts';
import { Runner } from '../../../src/search/fuzz/subject.ts';
import { machines } from '../../support/machines.ts';

const FOLDER = 'traces/regressions';
const traces = readdirSync(FOLDER).filter((name) => name.endsWith('.jsonl'));

it('there are some', () => {
  expect(traces.length).toBeGreaterThan(0);
});

describe.each(traces)('%s', (name) => {
  it('still shows its breach', async () => {
    const path = `${FOLDER}/${name}`;
    const { rule, owners } = await expectedOf(path);
    const options = { machines: {}, strict: false, crashDeadline_ms: 100, with: [] };
    const { sessions } = await replayFile(path, options);
    expect(sessions.reduce((sum, { summary }) => sum + summary.messages, 0)).toBeGreaterThan(0);
    const breaches = sessions
      .flatMap(({ findings }) => findings)
      .filter((finding) => finding.rule === rule && finding.status === 'breach');
    expect(breaches.some((finding) => owners.every((side) => finding.owners.includes(side)))).toBe(
      true,
    );
  });

  it('does not break the bundled machines', async () => {
    const { protocol, plan } = await expectedOf(`${FOLDER}/${name}`);
    const { vehicle, charger } = machines[protocol]!;
    const alphabets = { vehicle: vehicle!.alphabet, charger: charger!.alphabet };
    const parties = { vehicle: { machine: vehicle! }, charger: { machine: charger! } };
    const { charges, messages } = new Runner({ protocol, ...parties, alphabets }).run(plan);
    expect(messages).toBeGreaterThan(0);
    expect(charges).toEqual([]);
  });
});
