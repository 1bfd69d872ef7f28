// Campaigns at a fixed seed: deterministic, whatever the number of workers; an undisturbed session holds; machines with a
// mistake are found, and what is found is made simple.
import { describe, expect, it } from 'vitest';
import { campaign, type Team } from '../../../src/search/fuzz/campaign.ts';
import type { SideMachine } from '../../../src/machine/convention.ts';
import { PLAIN } from '../../../src/search/fuzz/plan.ts';
import { delaysOf, Runner, type Subject } from '../../../src/search/fuzz/subject.ts';
import type { Side } from '../../../src/trace/observation.ts';
import { brokenMachines } from '../../support/broken-machines.ts';
import { machines } from '../../support/machines.ts';

type Name = 'din70121' | 'iso15118-2';

function subjectOf(protocol: Name, own: Partial<Record<Side, SideMachine>> = {}): Subject {
  const bundled = machines[protocol]!;
  const [vehicle, charger] = [own.vehicle ?? bundled.vehicle!, own.charger ?? bundled.charger!];
  const alphabets = { vehicle: vehicle.alphabet, charger: charger.alphabet };
  return { protocol, vehicle: { machine: vehicle }, charger: { machine: charger }, alphabets };
}

async function run(subject: Subject, runs: number, workers = 1) {
  const runners = Array.from({ length: workers }, () => new Runner(subject));
  const team: Team = {
    workers,
    run: async (worker, plans) => plans.map((plan) => runners[worker]!.run(plan)),
  };
  const { size } = runners[0]!.reach;
  return campaign(team, { seed: 1, runs, time_s: null, delays_ms: delaysOf(subject), size });
}

describe.each(['din70121', 'iso15118-2'] as const)('%s', (protocol) => {
  it('holds in an undisturbed session', () => {
    const { charges, messages } = new Runner(subjectOf(protocol)).run(PLAIN);
    expect(charges).toEqual([]);
    expect(messages).toBeGreaterThan(30);
  });
});

it('is the same campaign with one worker and with three', async () => {
  const [one, three] = [
    await run(subjectOf('din70121'), 300),
    await run(subjectOf('din70121'), 300, 3),
  ];
  expect(three.messages).toBe(one.messages);
  expect(three.reached).toEqual(one.reached);
  expect(one.runs).toBe(300);
  expect(one.stoppedBy).toBe('runs');
}, 120_000);

/** Messages of the shortest run to the same breach, from an exhaustive search of the same two machines (`prove`). */
const FOUND: readonly (readonly [mistake: string, runs: number, shortest: number])[] = [
  ['closes its contactor before the voltages match', 256, 17],
  ['forgets the result of the isolation test', 256, 15],
  ['misses the timeout in energy transfer', 1024, 21],
  ['tests the isolation before the vehicle has asked for it', 256, 12],
];

describe('a machine with a mistake is found', () => {
  it.each(FOUND)(
    'one that %s, within %d sessions',
    async (mistake, runs, shortest) => {
      const { protocol, side, rule, make } = brokenMachines.find(({ name }) => name === mistake)!;
      const { found } = await run(subjectOf(protocol, { [side]: make() }), runs);
      const own = found.find((one) => one.rule === rule && one.owners.includes(side));
      expect(own).toBeDefined();
      expect(own!.messages).toBeGreaterThan(0);
      expect(own!.messages).toBeLessThanOrEqual(1.5 * shortest);
    },
    120_000,
  );
});
