// Following both sides of a session of 60,000 messages, against the same machines stepped by XState alone with each
// message once: what remembering the steps is worth, with the search over unseen choices and timers on top.
import { initialTransition, transition, type AnyMachineSnapshot } from 'xstate';
import type { MachineEvent } from '../../src/machine/convention.ts';
import { createFollower } from '../../src/replay/follow.ts';
import { charger } from '../../machines/iso15118-2/charger.ts';
import { vehicle } from '../../machines/iso15118-2/vehicle.ts';
import { approach, beginning, ending, timed, transfer, type Line } from '../replay/sessions.ts';

const ROUNDS = 7;
const MESSAGES = 60_000;

const loop = transfer.slice(2, 4);
const demands = Array.from({ length: MESSAGES / loop.length }, () => loop).flat();
// `timed` gives every line its own event object; a reader gives equal messages the same one.
const session = shareEvents(
  timed([...beginning, ...approach, ...transfer.slice(0, 2), ...demands, ...ending]),
);

function shareEvents(lines: Line[]): Line[] {
  const known = new Map<string, MachineEvent>();
  for (const line of lines) {
    const key = JSON.stringify(line.event);
    line.event = known.get(key) ?? line.event;
    known.set(key, line.event);
  }
  return lines;
}

function follow(): number {
  const followers = [vehicle, charger].map((machine) =>
    createFollower({ side: machine.side, machine, joined: false }),
  );
  let divergences = 0;
  for (const { at_s, from, event } of session) {
    for (const follower of followers) {
      const { divergence } = follower.observe(event, from, Math.round(at_s * 1e9), null);
      if (divergence !== null) divergences += 1;
    }
  }
  return divergences;
}

/** One side takes every message as an event; it stays where it is on most of them, which is the cheap case. */
function step(): number {
  let [snapshot] = initialTransition(vehicle.machine) as [AnyMachineSnapshot, unknown];
  for (const { event } of session) {
    [snapshot] = transition(vehicle.machine, snapshot, event as never) as [
      AnyMachineSnapshot,
      unknown,
    ];
  }
  return 0;
}

function time(work: () => number): number {
  const started = performance.now();
  if (work() !== 0) throw new Error('the session must be followed without a divergence');
  return performance.now() - started;
}

const median = (values: number[]): number => values.toSorted((a, b) => a - b)[ROUNDS >> 1]!;

export async function run(): Promise<string[]> {
  const follows: number[] = [];
  const steps: number[] = [];
  for (let round = 0; round < ROUNDS; round += 1) {
    follows.push(time(follow));
    steps.push(time(step));
  }
  const [ours, theirs] = [median(follows), median(steps)];
  const times = `${ours.toFixed(0)} ms against ${theirs.toFixed(0)} ms of one XState transition each`;
  return [
    `following both sides (${session.length} messages): ${times}, ${(theirs / ours).toFixed(1)}x faster`,
  ];
}

if (process.argv[1] === import.meta.filename) {
  for (const line of await run()) console.log(line);
}
