// The exhaustive search against SPIN on the same models, written out by promela.ts, one after the other in one run. SPIN
// searches depth first, without reduction or compression; both must count the same states and transitions.
import { argv } from 'node:process';
import { pathToFileURL } from 'node:url';
import { explore } from '../../src/search/explore/explore.ts';
import type { Exploration } from '../../src/search/explore/explore.ts';
import type { Model } from '../../src/search/model/form.ts';
import { promelaOf } from '../../src/search/promela.ts';
import { peers } from '../search/models/peers.ts';
import { twoPhaseCommit } from '../search/models/two-phase-commit.ts';
import { spin, type SpinFound } from '../support/spin.ts';
import { toolSkipped } from '../support/tools.ts';

const ROUNDS = 3;
const FLOOR = { rate: 3, endToEnd: 5, bytesPerState: 20 };

/** Two lines a model: rates and times with their ratios, bytes of each state. */
export async function run(): Promise<string[]> {
  if (toolSkipped('spin', 'search against SPIN') || toolSkipped('gcc', 'search against SPIN')) {
    return [];
  }
  const lines: string[] = [];
  // Much that changes freely, as in the product this search is for; and a published model where nothing does.
  for (const model of [peers(8, 2), twoPhaseCommit(9)]) lines.push(...(await compare(model)));
  return lines;
}

async function compare(model: Model): Promise<string[]> {
  const ours: Exploration[] = [];
  const theirs: SpinFound[] = [];
  for (let round = 0; round < ROUNDS; round++) {
    ours.push(await explore(model));
    theirs.push(spin(promelaOf(model), { mayEndAnywhere: true, optimise: '-O2' }));
  }
  const { states, transitions, bytesPerState } = ours[0]!;
  if (!same(states, theirs[0]!.states) || !same(transitions + 1, theirs[0]!.transitions)) {
    throw new Error(`${model.name}: ${states} states here, ${theirs[0]!.states} in SPIN`);
  }
  const ours_s = median(ours.map(({ seconds }) => seconds));
  const search_s = median(theirs.map((spun) => spun.search_s));
  const all_s = median(theirs.map((spun) => spun.all_s));
  const rate = (seconds: number): string => `${(states / seconds / 1e6).toFixed(2)} M states/s`;
  const name = `search, ${model.name}, ${(states / 1e6).toFixed(1)} M states`;
  return [
    `${name}: ${rate(ours_s)}; SPIN -O2 ${rate(search_s)}: ${against(search_s / ours_s, FLOOR.rate)}; ` +
      `with spin and gcc ${against(all_s / ours_s, FLOOR.endToEnd)}`,
    `${name}: ${bytesPerState.toFixed(1)} bytes a state (at most ${FLOOR.bytesPerState}); ` +
      `SPIN ${theirs[0]!.bytesPerState.toFixed(0)}`,
  ];
}

/** Eight digits is all that pan prints of large numbers. */
function same(a: number, b: number): boolean {
  return Math.abs(a - b) <= Math.max(a, b) / 1e7;
}

function against(ratio: number, floor: number): string {
  return `${ratio.toFixed(1)}x (floor ${floor}x)`;
}

function median(values: number[]): number {
  return values.sort((a, b) => a - b)[Math.floor(values.length / 2)]!;
}

if (argv[1] !== undefined && import.meta.url === pathToFileURL(argv[1]).href) {
  for (const line of await run()) console.log(line);
}
