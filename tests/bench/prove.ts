// The search of both sides' machines: against SPIN -O2 on the same model as Promela; against XState's own way to find the
// states of one machine (`xstate/graph`); and how it grows with faults and with what a channel holds.
import { argv } from 'node:process';
import { pathToFileURL } from 'node:url';
import { getAdjacencyMap } from 'xstate/graph';
import type { SideMachine } from '../../src/machine/convention.ts';
import { compileTable } from '../../src/machine/table.ts';
import { protocols } from '../../src/protocols/index.ts';
import { explore } from '../../src/search/explore/explore.ts';
import type { Model } from '../../src/search/model/form.ts';
import { promelaOf } from '../../src/search/promela.ts';
import { prove } from '../../src/search/prove/prove.ts';
import { peers } from '../search/models/peers.ts';
import { machines } from '../support/machines.ts';
import { spin } from '../support/spin.ts';
import { toolSkipped } from '../support/tools.ts';

const FLOOR = { endToEnd: 1, graph: 2, bytesPerState: 80 };
/** A search that takes longer tells how far it came. */
const LONGEST_s = 120;

const { vehicle, charger } = machines.din70121!;
const protocol = protocols.din70121;

export async function run(): Promise<string[]> {
  return [
    ...(await againstSpin()),
    againstGraph(),
    ...(await withFaults()),
    ...(await withChannels()),
  ];
}

/** From the machines to the verdict; SPIN is given the model ready. */
async function againstSpin(): Promise<string[]> {
  const check = 'search of both machines against SPIN';
  if (toolSkipped('spin', check) || toolSkipped('gcc', check)) return [];
  let model: Model | undefined;
  const started = performance.now();
  const onModel = (one: Model): void => void (model = one);
  const ours = await prove({ vehicle, charger, protocol, faults: 0, limits: {}, onModel });
  const all_s = (performance.now() - started) / 1000;
  const theirs = spin(promelaOf(model!), {
    invariant: 'ALL',
    mayEndAnywhere: true,
    optimise: '-O2',
  });
  if (theirs.states !== ours.states) {
    throw new Error(`${ours.states} states here, ${theirs.states} in SPIN`);
  }
  const name = `prove, din70121, ${thousands(ours.states)} states`;
  return [
    `${name}: ${rate(ours.states, ours.seconds)}; SPIN -O2 ${rate(theirs.states, theirs.search_s)}, ` +
      `${(theirs.search_s / ours.seconds).toFixed(2)}x; all in all ${all_s.toFixed(1)} s, ` +
      `with spin and gcc ${theirs.all_s.toFixed(1)} s: ${against(theirs.all_s / all_s, FLOOR.endToEnd)}`,
    `${name}: ${ours.bytesPerState.toFixed(0)} bytes a state (at most ${FLOOR.bytesPerState}); ` +
      `SPIN ${theirs.bytesPerState.toFixed(0)}`,
  ];
}

/** One side alone, with the same events: what a table is made of. */
function againstGraph(): string {
  const table = compileTable(charger);
  const events = table.inputs.map(({ example }) => example);
  const ours_s = seconds(() => void compileTable(charger));
  let pairs = 0;
  const theirs_s = seconds(() => {
    const map = Object.values(getAdjacencyMap(charger.machine, { events: events as never[] }));
    pairs = map.reduce((sum, { transitions }) => sum + Object.keys(transitions).length, 0);
  });
  const cells = table.states.length * table.inputs.length;
  return (
    `prove, ${words(charger)}: table of ${cells} answers in ${ours_s.toFixed(2)} s; xstate/graph ` +
    `${pairs} in ${theirs_s.toFixed(2)} s: ${against(theirs_s / pairs / (ours_s / cells), FLOOR.graph)} an answer`
  );
}

async function withFaults(): Promise<string[]> {
  const lines: string[] = [];
  for (const faults of [0, 1, 2]) {
    const limits = { time_s: LONGEST_s };
    const found = await prove({ vehicle, charger, protocol, faults, limits });
    const whole = found.stoppedBy === null ? '' : ' so far';
    lines.push(
      `prove, din70121, at most ${faults} faults: ${thousands(found.states)} states${whole}, ` +
        `${rate(found.states, found.seconds)}, ${found.bytesPerState.toFixed(0)} bytes a state`,
    );
  }
  return lines;
}

async function withChannels(): Promise<string[]> {
  const lines: string[] = [];
  for (const capacity of [1, 2, 3]) {
    const model = peers(4, 1, capacity);
    const found = await explore(model, { limits: { time_s: LONGEST_s } });
    lines.push(
      `prove, channels of ${capacity}: ${thousands(found.states)} states, ` +
        `${rate(found.states, found.seconds)}, ${found.bytesPerState.toFixed(1)} bytes a state`,
    );
  }
  return lines;
}

function seconds(work: () => void): number {
  const started = performance.now();
  work();
  return (performance.now() - started) / 1000;
}

const words = ({ protocol: name, side }: SideMachine): string => `${name} ${side} alone`;
const thousands = (count: number): string => `${(count / 1000).toFixed(0)} k`;
const rate = (states: number, s: number): string => `${(states / s / 1000).toFixed(0)} k states/s`;
const against = (ratio: number, floor: number): string => `${ratio.toFixed(1)}x (floor ${floor}x)`;

if (argv[1] !== undefined && import.meta.url === pathToFileURL(argv[1]).href) {
  for (const line of await run()) console.log(line);
}
