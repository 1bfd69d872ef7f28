// Each side alone, against a peer that may send any message with any facts at any time: every reachable step is looked
// at, with a small monitor beside the machine. The safety conditions are those of IEC 61851-23 Annex CC as the rules
// use them; here they are asked of the machines' own drives.
import { describe, expect, it } from 'vitest';
import { initialTransition, transition, type AnyMachineSnapshot } from 'xstate';
import { branches } from '../../src/machine/branches.ts';
import { canonical } from '../../src/machine/canonical.ts';
import type { Drive, MachineEvent, Send, SideMachine } from '../../src/machine/convention.ts';
import { activeNodes, createStepper } from '../../src/machine/step.ts';
import { charger as dinCharger } from '../../machines/din70121/charger.ts';
import { vehicle as dinVehicle } from '../../machines/din70121/vehicle.ts';
import { charger as isoCharger } from '../../machines/iso15118-2/charger.ts';
import { vehicle as isoVehicle } from '../../machines/iso15118-2/vehicle.ts';

type Monitor = Readonly<Record<string, string>>;

interface Seen {
  event: MachineEvent;
  sends: Send[];
  drives: Drive[];
}

/**
 * Walks every reachable pair of machine state and monitor; returns how many there are. `watch` gives null for what
 * cannot be.
 */
function explore(
  side: SideMachine,
  start: Monitor,
  watch: (monitor: Monitor, seen: Seen) => Monitor | null,
): number {
  const [first] = initialTransition(side.machine);
  const open: [AnyMachineSnapshot, Monitor][] = [[first as AnyMachineSnapshot, start]];
  const known = new Set<string>();
  for (const [snapshot, monitor] of open) {
    const types = new Set([...Object.keys(side.alphabet), ...timersOf(side)]);
    for (const type of types) {
      if (!listens(side, snapshot, type)) continue;
      branches({ type }, side.alphabet[type] ?? {}, (event) => {
        const [next, actions] = transition(side.machine, snapshot, event as never);
        const of = (name: string) => actions.filter((a) => a.type === name).map((a) => a.params);
        const sends = of('send') as unknown as Send[];
        const after = watch(monitor, { event, sends, drives: of('drive') as unknown as Drive[] });
        if (after === null) return;
        const { value, context } = next as AnyMachineSnapshot;
        const key = canonical([value, context, after]);
        if (!known.has(key)) open.push([next as AnyMachineSnapshot, after]);
        known.add(key);
      });
    }
  }
  return known.size;
}

function timersOf({ machine }: SideMachine): string[] {
  return machine.events.map(String).filter((type) => type.startsWith('xstate.after'));
}

function listens({ machine }: SideMachine, { value }: AnyMachineSnapshot, type: string): boolean {
  return activeNodes(value, machine.root).some((node) => node.ownEvents.includes(type));
}

function closedWithout(monitor: Monitor, { event, drives }: Seen): Monitor {
  const tested =
    event.type === 'CableCheckRes'
      ? event.code === 'ok' &&
        event.session !== 'foreign' &&
        event.processing === 'finished' &&
        (event.isolation === 'valid' || event.isolation === 'warning')
        ? 'yes'
        : 'no'
      : monitor.tested!;
  let { contactors, lock } = monitor;
  for (const { what, to } of drives) {
    if (what === 'lock') lock = to;
    if (what !== 'contactors') continue;
    if (to === 'closed' && contactors === 'open') {
      expect(event.type).toBe('choose.power');
      expect(event.gate).toBe('inside');
      expect(tested).toBe('yes');
      expect(lock).toBe('locked');
    }
    if (to === 'open') expect(event.current).not.toBe('flowing');
    contactors = to;
  }
  if (drives.some(({ what, to }) => what === 'lock' && to === 'unlocked')) {
    expect(contactors).not.toBe('closed');
    expect(event.inlet).toBe('safe');
  }
  return { tested, contactors: contactors!, lock: lock! };
}

describe.each([
  ['din70121', dinVehicle],
  ['iso15118-2', isoVehicle],
])('the vehicle of %s alone', (_, side) => {
  it('closes only after a passed test, inside its gate, locked; opens and unlocks only when it may', () => {
    let closings = 0;
    const start = { tested: 'no', contactors: 'open', lock: 'unlocked' };
    const size = explore(side, start, (monitor, seen) => {
      if (seen.drives.some(({ to }) => to === 'closed')) closings += 1;
      return closedWithout(monitor, seen);
    });
    // A search that never closes a contactor would prove nothing.
    expect(closings).toBeGreaterThan(0);
    expect(size).toBeGreaterThan(40);
  });
});

const LIVE = new Set(['test', 'precharge', 'on']);

function livesWithout(monitor: Monitor, { event, sends, drives }: Seen): Monitor | null {
  // Its own sight of the pilot, on a choice, is what the pilot is.
  const seesC = monitor.pilot === 'C' || monitor.pilot === 'D';
  if (event.type === 'choose.answer' && (event.pilot === 'C') !== seesC) return null;
  const pilot = event.type === 'sense.pilot' ? event.pilot! : monitor.pilot!;
  let { output, over } = monitor;
  if (sends.some(({ code }) => code !== undefined && code !== 'ok')) over = 'yes';
  for (const { what, to } of drives) if (what === 'output') output = to;
  if (LIVE.has(output!)) {
    expect(over).toBe('no');
    expect(['C', 'D']).toContain(pilot);
  }
  if (output === 'on' && monitor.output !== 'on') {
    expect(sends).toContainEqual(
      expect.objectContaining({ message: 'PowerDeliveryRes', code: 'ok', status: 'ready' }),
    );
  }
  if (event.type === 'link.closed') expect(output).toBe('off');
  return { pilot, output: output!, over: over! };
}

describe.each([
  ['din70121', dinCharger],
  ['iso15118-2', isoCharger],
])('the charger of %s alone', (_, side) => {
  it('is live only in state C or D, in a session without a FAILED answer, and on only with its OK', () => {
    const outputs = new Set<string>();
    const start = { pilot: 'B', output: 'off', over: 'no' };
    explore(side, start, (monitor, seen) => {
      const next = livesWithout(monitor, seen);
      if (next !== null) outputs.add(next.output!);
      return next;
    });
    expect([...outputs].sort()).toEqual(['off', 'on', 'precharge', 'test']);
  });
});

describe('the size of the bundled machines', () => {
  // Pinned so that a change of the charts is seen here first.
  it.each([
    ['DIN vehicle', 51, dinVehicle],
    ['DIN charger', 114, dinCharger],
    ['ISO vehicle', 85, isoVehicle],
    ['ISO charger', 200, isoCharger],
  ])('%s reaches %d states', (_, states, side) => {
    const stepper = createStepper(side);
    const reached = new Set([stepper.initial.next]);
    for (const state of reached) for (const next of stepper.successors(state)) reached.add(next);
    expect(reached.size).toBe(states);
  });
});
