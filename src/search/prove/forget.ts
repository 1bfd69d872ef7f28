// What can no longer matter is brought to one value, so that states which differ only in it are one state. Each step here
// says why no rule can tell the difference any more; the counts pinned in tests/search/prove watch over it.
import { and, constant, ifThen, not } from '../model/build.ts';
import type { ChoiceTerm, Operand, Term, VariableTerm } from '../model/build.ts';
import type { Change } from './change.ts';
import type { System } from './system.ts';

/** What a command needs beside its own parts: a name for something that many of its updates read. */
export interface Named {
  readonly choose: readonly ChoiceTerm[];
  readonly guard: Term;
}

/** Brings to one value what the state after a command no longer needs. */
export function forget(system: System, change: Change): Named {
  const { is, clocks } = system;
  const over = howFarOver(system, change);
  settleWire(system, change);
  const { vehicle, dark, both } = over;
  const settle = (when: Term, variable: VariableTerm<string>, value: Operand): void => {
    const now = change.now(variable);
    if (now.expr.kind === 'constant' && now.expr.value === value) return;
    change.set(variable, ifThen(when, value, now));
  };
  // A dark charger has nothing live, now or later: both-consent and its duties to stop need something live.
  const consents = change.now(is.consents);
  change.set(
    is.consents,
    ifThen(both, 0, ifThen(dark, system.spentConsents.at(consents), consents)),
  );
  for (const variable of [is.chargerDue, is.stopNow, is.wants]) settle(dark, variable, 0);
  settleOther(system, change);
  // A cell at its limit recovers once nothing flows.
  const current = change.now(is.current);
  if (current !== is.current || change.now(is.cells) !== is.cells)
    settle(not(current), is.cells, 0);
  // A spent vehicle closes no contactor, so no gate counts; it demands nothing, so a duty of its own only stands or not.
  settle(vehicle, is.gate, 0);
  const due = change.now(is.vehicleDue);
  change.set(is.vehicleDue, ifThen(both, 0, ifThen(vehicle, due.min(1), due)));
  // With both spent only opening (open-cold) and unlocking (cold-unlock) are left. They read the plant, which knows no
  // time: a timer that runs may then run out at any moment, as a clock at 0 does.
  const memory = [is.isolation, is.askedIn, is.patience, is.quiet];
  for (const variable of [...memory, ...clocks.vehicle, ...clocks.charger]) {
    settle(both, variable, 0);
  }
  settle(both, is.asked, is.asked.value('other'));
  settle(both, is.pilotSeen, change.now(is.pilot));
  return over;
}

/** What is kept for the duties of a side that is not judged. */
function settleOther({ alone, is }: System, change: Change): void {
  if (alone === undefined) return;
  const others =
    alone === 'vehicle'
      ? [is.chargerDue, is.quiet, is.wants, is.pilotSeen]
      : [is.patience, is.cells, is.weld];
  for (const variable of others) if (change.now(variable) !== variable) change.set(variable, 0);
}

/** Of the message in flight only what its receiver can still tell. */
function settleWire({ is, tables }: System, change: Change): void {
  const wire = change.now(is.wire);
  if (wire.expr.kind === 'constant') return;
  const [vehicle, charger] = [change.now(is.vehicle), change.now(is.charger)];
  if (wire === is.wire && vehicle === is.vehicle && charger === is.charger) return;
  const isRequest = tables.isRequest.at(wire.minus(1).max(0));
  const heard = tables.settled.charger.at(charger, wire);
  const told = tables.settled.vehicle.at(vehicle, wire);
  change.set(is.wire, ifThen(isRequest, heard, told));
}

interface Over extends Named {
  readonly vehicle: Term;
  readonly dark: Term;
  readonly both: Term;
}

/** Which side is spent after a command, where nothing is live. Over a dead link nothing reaches anybody. */
function howFarOver(system: System, change: Change): Over {
  const { is, ends, builder } = system;
  const [vehicleIn, chargerIn] = [change.now(is.vehicle), change.now(is.charger)];
  const wire = change.now(is.wire);
  const down = change.now(is.link).eq(1);
  const toVehicle = ifThen(down, 0, ends.hears.vehicle.at(chargerIn));
  const toCharger = ifThen(down, 0, ends.hears.charger.at(vehicleIn));
  const nothingLive = and(change.now(is.output).eq(0), change.now(is.current).eq(0));
  const vehicle = ends.vehicle.at(vehicleIn, toVehicle, wire);
  const charger = ends.charger.at(chargerIn, toCharger, wire);
  const stage = ifThen(
    nothingLive,
    ifThen(charger.eq(2), ifThen(vehicle, 2, 1), charger.min(1)),
    0,
  );
  if (vehicleIn === is.vehicle && chargerIn === is.charger) {
    return { vehicle, dark: stage.gt(0), both: stage.eq(2), choose: [], guard: constant(true) };
  }
  // Many updates read the stage: it is chosen once, and the guard leaves only the true one.
  const chosen = builder.choice('stage', stage.plus(1));
  return {
    vehicle,
    dark: chosen.gt(0),
    both: chosen.eq(2),
    choose: [chosen],
    guard: chosen.eq(stage),
  };
}
