// Whatever the two bundled machines do with each other, at any pace, each is explained by its own machine: random
// sessions in virtual time, played by a plain scheduler that shares nothing with the follower but the machines.
import * as fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { initialTransition, transition, type AnyMachineSnapshot } from 'xstate';
import type { MachineEvent, Send, SideMachine } from '../../src/machine/convention.ts';
import { createStepper, type Stepper } from '../../src/machine/step.ts';
import { createFollower } from '../../src/replay/follow.ts';
import { charger as dinCharger } from '../../machines/din70121/charger.ts';
import { vehicle as dinVehicle } from '../../machines/din70121/vehicle.ts';
import { charger as isoCharger } from '../../machines/iso15118-2/charger.ts';
import { vehicle as isoVehicle } from '../../machines/iso15118-2/vehicle.ts';

interface Action {
  type: string;
  params?: { id?: string; sendId?: string; delay?: number };
}

/** One machine run by XState's own pure functions, with its timers in virtual time. */
class Player {
  readonly side: SideMachine;
  private snapshot: AnyMachineSnapshot;
  private readonly due = new Map<string, number>();
  private readonly stepper: Stepper;
  private state: number;

  constructor(side: SideMachine) {
    this.side = side;
    const [snapshot, actions] = initialTransition(side.machine);
    this.snapshot = snapshot as AnyMachineSnapshot;
    this.stepper = createStepper(side);
    this.state = this.stepper.initial.next;
    this.arm(actions as Action[], 0);
  }

  /** The next timer, if it is due by then. */
  nextTimer(by_ms: number): [string, number] | null {
    const [first] = [...this.due].sort((a, b) => a[1] - b[1]);
    return first !== undefined && first[1] <= by_ms ? first : null;
  }

  take(event: MachineEvent, at_ms: number): Send[] {
    this.due.delete(event.type);
    const [next, actions] = transition(this.side.machine, this.snapshot, event as never);
    this.snapshot = next as AnyMachineSnapshot;
    this.state = this.stepper.step(this.state, event).next;
    this.arm(actions as Action[], at_ms);
    return (actions as Action[])
      .filter(({ type }) => type === 'send')
      .map(({ params }) => params as unknown as Send);
  }

  /** What it may choose or sense now. */
  choices(): readonly MachineEvent[] {
    return this.stepper.moves(this.state).map(({ event }) => event);
  }

  private arm(actions: readonly Action[], at_ms: number): void {
    for (const { type, params } of actions) {
      if (type === 'xstate.cancel') this.due.delete(params!.sendId!);
      if (type === 'xstate.raise') this.due.set(params!.id!, at_ms + params!.delay!);
    }
  }
}

interface Seen {
  event: MachineEvent;
  from: 'vehicle' | 'charger';
  at_ms: number;
}

function session(sides: readonly SideMachine[], picks: readonly [number, number][]): Seen[] {
  const players = sides.map((side) => new Player(side));
  const seen: Seen[] = [];
  let now_ms = 0;
  const say = (index: number, sends: readonly Send[]): void => {
    for (const { message, ...facts } of sends) {
      const event: MachineEvent = Object.freeze({ type: message, ...facts });
      seen.push({ event, from: players[index]!.side.side, at_ms: now_ms });
      say(1 - index, players[1 - index]!.take(event, now_ms));
    }
  };
  for (const [wait_ms, pick] of picks) {
    const until_ms = now_ms + wait_ms;
    for (;;) {
      const timers = players.map((player) => player.nextTimer(until_ms)?.[1] ?? Infinity);
      const index = timers[0]! <= timers[1]! ? 0 : 1;
      const timer = players[index]!.nextTimer(until_ms);
      if (timer === null) break;
      now_ms = timer[1];
      say(index, players[index]!.take({ type: timer[0] }, now_ms));
    }
    now_ms = until_ms;
    // The straight way first, so that a session gets somewhere; now and then anything.
    const open = players.flatMap((player, index) =>
      player.choices().map((event) => ({ event, index })),
    );
    const usual = open.filter(({ event }) => isUsual(event));
    const from = pick % 40 > 0 && usual.length > 0 ? usual : open;
    const choice = from[pick % Math.max(1, from.length)];
    if (choice !== undefined) say(choice.index, players[choice.index]!.take(choice.event, now_ms));
  }
  return seen;
}

const USUAL = new Set([
  'choose.next',
  'choose.answer',
  'choose.power',
  'choose.finish test',
  'choose.open',
  'sense.pilot',
]);

function isUsual({ type, pilot, isolation, status }: MachineEvent): boolean {
  if (!USUAL.has(type)) return false;
  if (isolation !== undefined && isolation !== 'valid') return false;
  if (status !== undefined && status !== 'ready') return false;
  return pilot === undefined || pilot === 'C' || type === 'choose.answer';
}

const wait = fc.oneof(
  { weight: 100, arbitrary: fc.integer({ min: 1, max: 60 }) },
  { weight: 2, arbitrary: fc.integer({ min: 60, max: 3000 }) },
  { weight: 1, arbitrary: fc.integer({ min: 3000, max: 90_000 }) },
);

describe.each([
  ['din70121', dinVehicle, dinCharger],
  ['iso15118-2', isoVehicle, isoCharger],
])('random sessions of %s', (_, vehicle, charger) => {
  it('are explained on both sides', () => {
    let longest = 0;
    const names = new Set<string>();
    const picks = fc.array(fc.tuple(wait, fc.nat(10_000)), { minLength: 60, maxLength: 160 });
    fc.assert(
      fc.property(picks, (chosen) => {
        const followers = [vehicle, charger].map((machine) =>
          createFollower({ side: machine.side, machine, joined: false, opened_ns: 0 }),
        );
        const seen = session([vehicle, charger], chosen);
        longest = Math.max(longest, seen.length);
        for (const { event, from, at_ms } of seen) {
          names.add(event.type);
          for (const follower of followers) {
            const { divergence } = follower.observe(event, from, Math.round(at_ms * 1e6), null);
            expect(divergence).toBeNull();
          }
        }
      }),
      { numRuns: 60 },
    );
    // Sessions that never got to power would show little.
    expect(longest).toBeGreaterThan(30);
    expect([...names]).toContain('CurrentDemandRes');
  });
});
