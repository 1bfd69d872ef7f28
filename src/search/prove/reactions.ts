// What a side does on one input of its machine: its next state, its clocks, what it drives, and the message it sends.
import type { Side } from '../../trace/observation.ts';
import { and, constant, ifThen, not, or } from '../model/build.ts';
import type { ChoiceTerm, Operand, Term, VariableTerm } from '../model/build.ts';
import { Change } from './change.ts';
import { addCommand, type CommandDraft } from './commands.ts';
import type { Happening } from './facts.ts';
import { ACTS, DISCHARGE, PILOT_LOSS, placed, type Memory } from './memory.ts';
import { DRIVES, type SideTables } from './side-tables.ts';
import type { System } from './system.ts';

export interface Reaction {
  name: string;
  side: Side;
  input: Operand;
  guard: Operand;
  /** Which input, where there are several. */
  choose?: ChoiceTerm[];
  /** Changes that come with the input itself, before the side reacts. */
  change?: () => Change;
  /** A message of the other side that is sent and read in this very step. */
  hears?: Term;
}

/** Adds the commands of one input: without a message sent, and with one. */
export function addReaction(system: System, memory: Memory, reaction: Reaction): void {
  const { side, input, name, guard, choose = [] } = reaction;
  const tables = system[side];
  const state = system.is[side];
  const out = tables.output.at(state, input);
  const next = tables.next.at(state, input);
  const speaks = tables.sendCount.at(out).gt(0);
  const { hears } = reaction;
  const changed = (): { change: Change; heard: Happening } => {
    const change = reaction.change?.() ?? new Change();
    const heard = hears === undefined ? {} : hear(system, memory, side, hears, change);
    stepSide(system, memory, tables, change, out, next);
    return { change, heard };
  };
  const covers = { set: side, at: state.times(tables.machine.inputs.length).plus(input) };
  const silent = changed();
  addCommand(system, memory, {
    name,
    choose,
    guard: and(guard, not(speaks)),
    change: silent.change,
    happening: silent.heard,
    covers,
    at: atClosing(system, silent.change),
    ...(hears === undefined ? {} : { labels: [{ name: 'message', value: hears }] }),
  });
  if (!tables.machine.outputs.some(({ sends }) => sends.length > 0)) return;
  const pick = system.builder.choice('pick', tables.sendCount.at(out));
  const message = tables.sends.at(out, pick);
  const { change: speaking, heard } = changed();
  const free = mayspeak(system, side, speaking);
  const happening = { ...heard, ...speak(system, memory, side, message, speaking) };
  const draft: CommandDraft = {
    name: `${name}, and sends`,
    guard: and(guard, speaks, free),
    choose: [...choose, pick],
    change: speaking,
    happening,
    at: atClosing(system, speaking),
    labels: [{ name: 'message', value: message }],
    covers,
  };
  addCommand(system, memory, draft);
}

/** One message at a time, over a link that the side still holds open. */
function mayspeak({ is }: System, side: Side, change: Change): Term {
  const own = side === 'vehicle' ? is.vehicleLink : is.chargerLink;
  return and(change.now(is.wire).eq(0), own.eq(0));
}

/** A message that is sent as it is read: all that sending it changes, then all that its coming changes. */
function hear(
  system: System,
  memory: Memory,
  side: Side,
  message: Term,
  change: Change,
): Happening {
  const arrival = system.tables.arrival.at(placed(system, message));
  const other = side === 'vehicle' ? 'charger' : 'vehicle';
  const happening = speak(system, memory, other, message, change);
  if (side === 'vehicle') answerArrives(system, memory, arrival, change);
  else requestArrives(system, memory, arrival, change);
  return happening;
}

/** The contactor closes on the voltages, and opens on the current, that stood before it moved. */
function atClosing({ is }: System, change: Change): Change {
  const moved = change.now(is.contactor).ne(is.contactor);
  return new Change()
    .set(is.gate, ifThen(moved, is.gate, change.now(is.gate)))
    .set(is.current, ifThen(moved, is.current, change.now(is.current)));
}

function stepSide(
  system: System,
  memory: Memory,
  tables: SideTables,
  change: Change,
  out: Term,
  next: Term,
): void {
  const { is } = system;
  change.set(is[tables.side], next);
  for (const [index, clock] of tables.clocks.entries()) {
    const variable = system.clocks[tables.side][index]!;
    const start = clock.starts.at(out, next);
    const goesOn = ifThen(clock.running.at(next).gt(0), variable, 0);
    change.set(variable, ifThen(start.gt(0), start, goesOn));
  }
  if (tables.side === 'vehicle') driveVehicle(system, memory, tables, change, out);
  else driveCharger(system, tables, change, out);
}

function driveVehicle(
  system: System,
  memory: Memory,
  { drives }: SideTables,
  change: Change,
  out: Term,
): void {
  const { is } = system;
  const contactors = drives.contactors.at(out);
  const opens = and(contactors.eq(1), is.welded.eq(0));
  const closes = contactors.eq(2);
  change
    .set(is.contactor, ifThen(closes, 1, ifThen(opens, 0, is.contactor)))
    .set(is.volts, ifThen(closes, 1, is.volts))
    .set(is.gate, ifThen(closes, 1, is.gate))
    .set(is.current, ifThen(opens, 0, is.current))
    .set(is.lock, driven(is.lock, drives.lock.at(out)))
    .set(is.pilot, ifThen(is.pilot.eq(2), 2, driven(is.pilot, drives.pilot.at(out))))
    .set(is.welded, ifThen(and(contactors.eq(1), is.welded.is('welded')), 2, is.welded))
    .set(is.weld, told(change.now(is.weld), drives.alarm.at(out)));
  pilotArmed(system, memory, change);
}

/** What the vehicle has noticed at its inlet counts as told with an alarm, or with a fault in a message. */
const told = (weld: Term, tells: Term): Term => ifThen(and(tells, weld.eq(1)), 2, weld);

/** The power stage follows at once: current that the charger no longer drives is gone within a tick. */
function driveCharger({ is }: System, { drives }: SideTables, change: Change, out: Term): void {
  const output = driven(is.output, drives.output.at(out));
  change
    .set(is.output, output)
    .set(is.current, ifThen(output.eq(DRIVES.output.indexOf('on')), change.now(is.current), 0));
}

/** Leaving C obliges the charger, however it came about (the switch of the vehicle, a pulled plug). */
export function pilotArmed(system: System, memory: Memory, change: Change): void {
  const { is } = system;
  const left = and(is.pilot.is('C'), change.now(is.pilot).ne(1));
  const duty = chargerArmed(system, memory, change, constant(PILOT_LOSS));
  change.set(is.chargerDue, ifThen(left, duty, is.chargerDue));
}

/** A drive of 0 leaves the variable as it is; any other is 1 + its new value. */
function driven(variable: VariableTerm<string> | Term, drive: Term): Term {
  return ifThen(drive.gt(0), drive.minus(1), variable);
}

/** A message goes out: onto the wire, into the consents, the latch and the duties of its sender. */
function speak(
  system: System,
  memory: Memory,
  side: Side,
  message: Term,
  change: Change,
): Happening {
  const { is, tables } = system;
  const column = placed(system, message, change);
  const reaches = side === 'vehicle' ? is.chargerLink : is.vehicleLink;
  const consents = memory.nextConsents.at(change.now(is.consents), column);
  const full = tables.arrival.at(column);
  // A duty of the vehicle that arrives where no consent to power stands arms nothing.
  const idle = and(memory.mayFlow.at(consents).eq(0), change.now(is.vehicleDue).eq(0));
  const arrival = side === 'vehicle' ? full : ifThen(idle, tables.bare.at(full), full);
  const onWire = ifThen(and(is.link.eq(0), reaches.eq(0)), arrival.plus(1), 0);
  change
    .set(is.wire, system.alone === undefined ? onWire : 0)
    .set(is.consents, consents)
    .set(is.isolation, memory.nextIsolation.at(change.now(is.isolation), column))
    .set(is.stopNow, memory.nextStopNow.at(column))
    .set(is.weld, told(change.now(is.weld), memory.tellsFault.at(message)));
  if (side === 'vehicle') return vehicleSpeaks(system, memory, message, column, change);
  const happening = chargerSpeaks(system, memory, message, column, change);
  // A vehicle of which nothing is known has its duties as soon as it could have them.
  if (system.alone === 'charger') answerArrives(system, memory, full, change);
  return happening;
}

const isAct = (act: Term, ...acts: string[]): Term =>
  or(...acts.map((one) => act.eq((ACTS as readonly (string | null)[]).indexOf(one))));

function vehicleSpeaks(
  { is }: System,
  memory: Memory,
  message: Term,
  column: Term,
  change: Change,
): Happening {
  const act = memory.act.at(column);
  const stops = isAct(act, 'stop', 'end');
  const demands = memory.demand.at(message).eq(2);
  const asksOn = isAct(act, 'approach', 'power', 'demand');
  change
    .set(is.asked, memory.nextAsked.at(message))
    .set(is.askedIn, ifThen(memory.session.at(message).eq(2), 1, 0))
    .set(is.vehicleDue, ifThen(stops, 0, is.vehicleDue))
    .set(is.patience, memory.patience.at(message))
    .set(is.weld, ifThen(isAct(act, 'power'), 0, change.now(is.weld)))
    .set(is.cells, ifThen(and(demands, is.cells.eq(1), is.current), 2, is.cells));
  return {
    vehicleAct: act,
    session: memory.session.at(message),
    asks: memory.demand.at(message),
    vehicleIgnores: and(demands, is.vehicleDue.eq(1)),
    chargerSilent: and(asksOn, is.patience.eq(1)),
  };
}

function chargerSpeaks(
  system: System,
  memory: Memory,
  message: Term,
  column: Term,
  change: Change,
): Happening {
  const { is } = system;
  const ok = memory.isOk.at(message);
  const own = memory.ownDuty.at(column);
  change.set(is.chargerDue, chargerArmed(system, memory, change, own)).set(is.quiet, 0);
  return {
    chargerAct: ifThen(ok, memory.act.at(column), 0),
    session: memory.session.at(message),
    answers: ifThen(ok, ifThen(is.askedIn.eq(1), 2, 1), 0),
  };
}

/** The first trigger sets the deadline; where nothing is live there is nothing to bring down. */
function armed(running: Term, duty: Term, flows: Term): Term {
  return ifThen(flows.eq(0), 0, ifThen(running.gt(0), running, duty));
}

/** A duty of the vehicle beside those it has: the soonest counts. */
function sooner(running: Term, duty: Term, flows: Term): Term {
  return ifThen(flows.eq(0), 0, ifThen(running.gt(0), running.min(duty), duty));
}

/** The charger's duty: its current must fall, or else its live output; both within their times. */
export function chargerArmed({ is }: System, memory: Memory, change: Change, duty: Term): Term {
  const flows = change.now(is.current);
  // Behind a closed contactor the voltage is the battery's: only the current has to come down.
  const drives = and(change.now(is.output).ne(0), is.contactor.eq(0));
  // Before power only a consent taken back obliges: EVReady false, say, does not.
  const takenBack = and(duty.gt(0), memory.withdrawn.at(change.now(is.consents)));
  const wanted = ifThen(flows.eq(1), duty, ifThen(takenBack, DISCHARGE, 0));
  return armed(is.chargerDue, wanted, or(flows, drives));
}

/** What a request's coming changes for the charger, before it reacts. */
export function requestArrives(
  system: System,
  memory: Memory,
  arrival: Term,
  change: Change,
): Change {
  const { is } = system;
  const demand = system.tables.demand.at(arrival);
  const duty = system.tables.duty.at(arrival);
  change
    .set(is.wire, 0)
    .set(is.quiet, 0)
    .set(is.wants, ifThen(demand.eq(0), is.wants, demand.minus(1)))
    .set(is.current, ifThen(demand.eq(1), 0, change.now(is.current)));
  return change.set(is.chargerDue, chargerArmed(system, memory, change, duty));
}

/** What an answer's coming changes for the vehicle, before it reacts. */
export function answerArrives(
  system: System,
  memory: Memory,
  arrival: Term,
  change: Change,
): Change {
  const { is } = system;
  const flows = memory.mayFlow.at(change.now(is.consents));
  const duty = system.tables.duty.at(arrival);
  const due = sooner(is.vehicleDue, duty, flows);
  return change
    .set(is.wire, 0)
    .set(is.patience, ifThen(is.patience.eq(1), 1, 0))
    .set(is.vehicleDue, ifThen(duty.gt(0), due, is.vehicleDue));
}
