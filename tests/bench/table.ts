// Compiling both machines of a protocol to tables in a fresh process, against asking XState's `transition` itself in
// every state for every way the facts of an event can steer it; and steps of a table against steps of XState.
import { spawnSync } from 'node:child_process';
import { initialTransition, transition, type AnyMachineSnapshot } from 'xstate';
import { branches } from '../../src/machine/branches.ts';
import { canonical } from '../../src/machine/canonical.ts';
import type { SideMachine } from '../../src/machine/convention.ts';
import { compileTable } from '../../src/machine/table.ts';
import { timersOf } from '../../src/machine/timers.ts';

const ROUNDS = 5;
const PROTOCOLS = ['din70121', 'iso15118-2'] as const;

async function machinesOf(protocol: string): Promise<SideMachine[]> {
  const folder = `../../machines/${protocol}`;
  const ending = import.meta.filename.endsWith('.ts') ? 'ts' : 'js';
  const { vehicle } = await import(`${folder}/vehicle.${ending}`);
  const { charger } = await import(`${folder}/charger.${ending}`);
  return [vehicle, charger];
}

/** The states of a machine, found with XState's `transition` alone. */
function explore({ machine, alphabet }: SideMachine): number {
  const [first] = initialTransition(machine) as [AnyMachineSnapshot, unknown];
  const open = [first];
  const seen = new Set<string>();
  const reach = (snapshot: AnyMachineSnapshot): void => {
    const key = canonical([snapshot.value, snapshot.context]);
    if (!seen.has(key)) open.push(snapshot);
    seen.add(key);
  };
  seen.add(canonical([first.value, first.context]));
  for (const snapshot of open) {
    for (const [type, domains] of Object.entries(alphabet)) {
      for (const { result } of branches({ type }, domains, (event) =>
        transition(machine, snapshot, event as never),
      )) {
        reach(result[0] as AnyMachineSnapshot);
      }
    }
    for (const { eventType } of snapshot._nodes.flatMap(timersOf)) {
      reach(transition(machine, snapshot, { type: eventType } as never)[0] as AnyMachineSnapshot);
    }
  }
  return open.length;
}

/** In a process of its own: milliseconds for both machines, and their states. */
async function cold(way: string, protocol: string): Promise<void> {
  const machines = await machinesOf(protocol);
  const begun = performance.now();
  const states = machines.map((side) =>
    way === 'table' ? compileTable(side).states.length : explore(side),
  );
  console.log(JSON.stringify({ ms: performance.now() - begun, states }));
}

function measure(way: string, protocol: string): { ms: number; states: number[] } {
  const { stdout, stderr } = spawnSync(
    process.execPath,
    [import.meta.filename, '--cold', way, protocol],
    { encoding: 'utf8' },
  );
  if (stdout === '') throw new Error(stderr);
  return JSON.parse(stdout);
}

function median(values: number[]): number {
  return values.sort((a, b) => a - b)[values.length >> 1]!;
}

function compileLine(protocol: string): string {
  const table_ms: number[] = [];
  const plain_ms: number[] = [];
  let found = '';
  for (let round = 0; round < ROUNDS; round += 1) {
    const table = measure('table', protocol);
    const plain = measure('plain', protocol);
    found = table.states.join(' and ');
    if (plain.states.join(' and ') !== found)
      throw new Error(`${found} states, not ${plain.states}`);
    table_ms.push(table.ms);
    plain_ms.push(plain.ms);
  }
  const [ms, peer_ms] = [median(table_ms), median(plain_ms)];
  const ratio = (peer_ms / ms).toFixed(1);
  return `tables of both machines of ${protocol} (${found} states), cold: ${ms.toFixed(0)} ms, ${ratio}x faster than by XState's transition alone (${peer_ms.toFixed(0)} ms)`;
}

const STEPS = 20_000;

async function stepLine(): Promise<string> {
  const [vehicle] = await machinesOf('din70121');
  const table = compileTable(vehicle!);
  const { inputs, next } = table;
  const count = inputs.length;
  // The same walk for both; a step that leads nowhere is walked too.
  const walk = Int32Array.from({ length: STEPS }, (_, i) => (i * 7_919) % count);
  const tableRates: number[] = [];
  const plainRates: number[] = [];
  for (let round = 0; round < ROUNDS; round += 1) {
    let begun = performance.now();
    let state = 0;
    for (let again = 0; again < 200; again += 1) {
      state = 0;
      for (let i = 0; i < STEPS; i += 1) state = next[state * count + walk[i]!]!;
    }
    tableRates.push((200 * STEPS) / (performance.now() - begun));
    begun = performance.now();
    let [snapshot] = initialTransition(vehicle!.machine) as [AnyMachineSnapshot, unknown];
    for (let i = 0; i < STEPS; i += 1) {
      const event = inputs[walk[i]!]!.example as never;
      snapshot = transition(vehicle!.machine, snapshot, event)[0] as AnyMachineSnapshot;
    }
    plainRates.push(STEPS / (performance.now() - begun));
    if (canonical(table.states[state]!.leaves) !== canonical(leavesOf(snapshot))) {
      throw new Error('the walks ended in different states');
    }
  }
  const [rate, plain] = [median(tableRates), median(plainRates)];
  return `table steps: ${(rate / 1e3).toFixed(0)} million/s, ${(rate / plain).toFixed(0)}x XState's transition (${plain.toFixed(0)} thousand/s)`;
}

function leavesOf({ _nodes }: AnyMachineSnapshot): string[] {
  return _nodes.filter(({ type }) => type === 'atomic').map(({ path }) => path.join('.'));
}

export async function run(): Promise<string[]> {
  return [...PROTOCOLS.map(compileLine), await stepLine()];
}

if (process.argv[1] === import.meta.filename) {
  const [, , flag, way, protocol] = process.argv;
  if (flag === '--cold') await cold(way!, protocol!);
  else for (const line of await run()) console.log(line);
}
