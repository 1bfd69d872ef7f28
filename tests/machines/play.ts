// Plays a list of events to a machine. An event is written `CableCheckRes code=ok, processing=finished`; a timer
// `timer V2G_EVCC_CableCheck_Timeout` must be running.
import { expect } from 'vitest';
import type { Drive, MachineEvent, Send, SideMachine } from '../../src/machine/convention.ts';
import { createStepper, type StateView } from '../../src/machine/step.ts';

function event(line: string): MachineEvent {
  const facts = line.split(/,? (?=[a-z]+=)/);
  const type = facts.shift()!.trim();
  return { type, ...Object.fromEntries(facts.map((fact) => fact.split('=') as [string, string])) };
}

export interface Played {
  /** Every message sent, in order, without facts. */
  messages: string[];
  last: Send | undefined;
  drives: Drive[];
  view: StateView;
}

/** Every event must be taken notice of, so that a sequence cannot pass by doing nothing. */
export function play(side: SideMachine, lines: readonly string[]): Played {
  const stepper = createStepper(side);
  let state = stepper.initial.next;
  const sends: Send[] = [];
  const drives: Drive[] = [];
  for (const line of lines) {
    const { timers, leaves } = stepper.view(state);
    const timer = timers.find(({ name }) => line === `timer ${name}`);
    const given = timer?.event ?? event(line);
    const step = stepper.step(state, given);
    expect(step.ignored, `${line} in ${leaves.join()}`).toBe(false);
    sends.push(...step.sends);
    drives.push(...step.drives);
    state = step.next;
  }
  return {
    messages: sends.map(({ message }) => message),
    last: sends.at(-1),
    drives,
    view: stepper.view(state),
  };
}

/** `contactors closed, pilot B` */
export function driveWords(drives: readonly Drive[]): string[] {
  return drives.map(({ what, to }) => `${what} ${to}`);
}
