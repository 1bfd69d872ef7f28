// A counterexample as an ordinary trace: what recorders at the charging interface would have seen of it. Messages have
// whole bodies, meters sample at each change and each tick; a step takes a millisecond, so that order and deadlines stay.
import type { MachineEvent } from '../../machine/convention.ts';
import { compose } from '../../protocols/system-c/compose.ts';
import type { SystemCProtocol } from '../../protocols/system-c/body-parts.ts';
import type { Observation, Side, TraceHeader } from '../../trace/observation.ts';
import type { Trace } from '../explore/trace.ts';
import type { Model } from '../model/form.ts';
import {
  BATTERY_V,
  CELL_LIMITS,
  DEMAND_A,
  LOWEST_CELL_V,
  sceneReader,
  type Scene,
} from './scene.ts';
import { TICK_ms } from './side-tables.ts';
import { TICK } from './steps.ts';
import type { System } from './system.ts';

export interface Recording {
  readonly header: TraceHeader;
  readonly observations: readonly Observation[];
}

type Without<T, K extends string> = T extends unknown ? Omit<T, K> : never;
type Seen = Without<Observation, 'at_ns'>;

const LINK = 'tcp:1';
const ADDRESSES = { vehicle: '02:00:00:00:00:01', charger: '02:00:00:00:01:01' } as const;
const STEP_ns = 1_000_000;

export interface Recorded {
  readonly model: Model;
  readonly system: System;
  readonly protocol: SystemCProtocol;
  /** For the trace's header. */
  readonly says: string;
}

export function recordingOf(trace: Trace, { model, system, protocol, says }: Recorded): Recording {
  const sceneOf = sceneReader(model);
  const observations: Observation[] = [];
  let at_ns = 0;
  let ticks = 0;
  const see = (...seen: Seen[]): void => {
    for (const one of seen) observations.push({ ...one, at_ns } as Observation);
  };
  let before = sceneOf(trace.initial, false);
  see(...beginning(before));
  const seenAt = whenSeen(trace, system);
  const scenes: Scene[] = [];
  for (const [index, { command, state }] of trace.steps.entries()) {
    if (command === TICK) ticks += 1;
    at_ns = Math.max(at_ns + STEP_ns, ticks * TICK_ms * 1e6);
    // What was switched on a step ago has risen before anything else happens.
    const risen = sceneOf(trace.steps[index - 1]?.state ?? trace.initial, before.outputOn);
    see(...changed(before, risen));
    before = risen;
    const now = sceneOf(state, before.outputOn);
    scenes.push(now);
    see(...switches(before, now), ...alarms(command));
    for (const sentAt of seenAt.get(index) ?? []) {
      const { from, example } = messageOf(trace.steps[sentAt]!.labels.message, system)!;
      see(message(protocol, from, example, scenes[sentAt]!));
    }
    see(...endOfLink(command), ...(command === TICK ? samples(now) : changed(before, now)));
    before = now;
  }
  const header = {
    handfast: 'trace',
    version: 1,
    epoch: null,
    recorder: 'handfast prove',
    says,
  } as const;
  return { header: { ...header, cells: { ...CELL_LIMITS } }, observations };
}

/**
 * By the step in which they are seen, the steps in which messages are sent. The recorder stands beside the vehicle, whose
 * waiting the rules judge: an answer that the link holds back over a tick is seen where it arrives, if it does.
 */
function whenSeen({ steps }: Trace, system: System): Map<number, number[]> {
  const seen = new Map<number, number[]>();
  const see = (at: number, sent: number): void => {
    seen.set(at, [...(seen.get(at) ?? []), sent]);
  };
  for (const [sent, { labels }] of steps.entries()) {
    const from = messageOf(labels.message, system)?.from;
    if (from === undefined) continue;
    const after = steps.slice(sent + 1);
    const arrives = after.findIndex(({ command }) => command.startsWith(ARRIVAL));
    const flight = arrives < 0 ? after : after.slice(0, arrives);
    const held = from === 'charger' && flight.some(({ command }) => command === TICK);
    if (!held) see(sent, sent);
    else if (arrives >= 0) see(sent + 1 + arrives, sent);
  }
  return seen;
}

const ARRIVAL = 'an answer reaches the vehicle';

function messageOf(label: string | number | undefined, { exchange }: System) {
  return typeof label === 'number' ? exchange.classes[label] : undefined;
}

function beginning(scene: Scene): Seen[] {
  return [
    { kind: 'plug', state: 'in' },
    { kind: 'pilot', state: scene.pilot, pwm: true },
    { kind: 'lock', state: scene.lock },
    { kind: 'contactor', side: 'vehicle', state: scene.contactor },
    cells(scene),
    ...samples(scene),
    {
      kind: 'link',
      link: LINK,
      state: 'opened',
      says: 'connection opened',
      vehicleAddress: ADDRESSES.vehicle,
      chargerAddress: ADDRESSES.charger,
    },
  ];
}

const cells = ({ highestCell_V }: Scene): Seen => ({
  kind: 'cells',
  lowest_V: LOWEST_CELL_V,
  highest_V: highestCell_V,
});

const voltages = ({ voltage_V }: Scene): Seen[] => [
  { kind: 'voltage', place: 'output', voltage_V },
  { kind: 'voltage', place: 'inlet', voltage_V },
];

const current = ({ current_A }: Scene): Seen => ({ kind: 'current', current_A });

const samples = (scene: Scene): Seen[] => [...voltages(scene), current(scene)];

/** What the sides switch; a contactor and the lock move on the values that stood before. */
function switches(before: Scene, now: Scene): Seen[] {
  const seen: Seen[] = [];
  const moves = now.contactor !== before.contactor || now.lock !== before.lock;
  if (moves) seen.push(...samples(before));
  if (now.contactor !== before.contactor) {
    seen.push({ kind: 'contactor', side: 'vehicle', state: now.contactor });
  }
  if (now.lock !== before.lock) seen.push({ kind: 'lock', state: now.lock });
  if (now.pilot !== before.pilot) {
    if (now.pilot === 'A') seen.push({ kind: 'plug', state: 'out' });
    seen.push({ kind: 'pilot', state: now.pilot, pwm: now.pilot !== 'A' });
  }
  return seen;
}

function changed(before: Scene, now: Scene): Seen[] {
  return [
    ...(now.voltage_V === before.voltage_V ? [] : voltages(now)),
    ...(now.current_A === before.current_A ? [] : [current(now)]),
    ...(now.highestCell_V === before.highestCell_V ? [] : [cells(now)]),
  ];
}

function alarms(command: string): Seen[] {
  if (command === 'fault: the vehicle has a crash signal') {
    return [{ kind: 'alarm', side: 'vehicle', alarm: 'crash' }];
  }
  return command === "fault: the charger's emergency stop is pressed"
    ? [{ kind: 'alarm', side: 'charger', alarm: 'emergency' }]
    : [];
}

function endOfLink(command: string): Seen[] {
  const closes = /^(vehicle|charger): closes the connection$/.exec(command)?.[1];
  if (closes !== undefined) {
    const says = `the ${closes} closed the connection`;
    return [{ kind: 'link', link: LINK, state: 'closed', from: closes as Side, says }];
  }
  const lost = /^fault: .*(connection is lost|loses power and restarts)$/.test(command);
  return lost ? [{ kind: 'link', link: LINK, state: 'reset', says: command }] : [];
}

function message(protocol: SystemCProtocol, from: Side, event: MachineEvent, now: Scene): Seen {
  const { type, ...facts } = event;
  const wanted: Record<string, string> = {};
  for (const [fact, value] of Object.entries(facts)) {
    if (value !== 'unknown' || fact === 'isolation') wanted[fact] = value;
  }
  const demands = type === 'CurrentDemandReq';
  const composed = compose(
    protocol,
    { ...wanted, message: type },
    {
      targetVoltage_V: demands ? BATTERY_V + 20 : BATTERY_V,
      targetCurrent_A: demands ? DEMAND_A : 1,
      presentVoltage_V: now.voltage_V,
      presentCurrent_A: now.current_A,
    },
  );
  const to = from === 'vehicle' ? 'charger' : 'vehicle';
  const addresses = { sender: ADDRESSES[from], receiver: ADDRESSES[to] };
  return { kind: 'message', from, ...composed, link: LINK, ...addresses };
}
