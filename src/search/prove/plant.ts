// The plant: voltages and current as far as the rules tell them apart, and the faults a run may have.
import type { Side } from '../../trace/observation.ts';
import { and, constant, ifThen } from '../model/build.ts';
import { Change } from './change.ts';
import { addCommand } from './commands.ts';
import type { Happening } from './facts.ts';
import type { Memory } from './memory.ts';
import { linkDown } from './link.ts';
import { chargerArmed, pilotArmed } from './reactions.ts';
import { EMERGENCY } from './memory.ts';
import type { System } from './system.ts';

export function addPlant(system: System, memory: Memory, faults: number): void {
  const { is } = system;
  const open = is.contactor.eq(0);
  const add = (name: string, guard: ReturnType<typeof and>, change: Change): void =>
    addCommand(system, memory, { name, guard, change });
  add(
    'plant: the output rises',
    and(is.volts.eq(0), is.output.ne(0), open),
    new Change().set(is.volts, 1),
  );
  add(
    'plant: the output reaches the battery voltage',
    and(is.gate.eq(0), is.volts.eq(1), is.output.is('precharge'), open),
    new Change().set(is.gate, 1),
  );
  add(
    'plant: the output drifts from the battery voltage',
    and(is.gate.eq(1), open),
    new Change().set(is.gate, 0),
  );
  add(
    'plant: the output discharges',
    and(is.volts.eq(1), is.output.eq(0), open),
    new Change().set(is.volts, 0).set(is.gate, 0),
  );
  add(
    'plant: current starts',
    and(
      is.current.eq(0),
      is.output.is('on'),
      is.contactor.eq(1),
      system.alone === 'vehicle' || is.wants.eq(1),
    ),
    new Change().set(is.current, 1).set(is.quiet, 0),
  );
  add(
    'plant: the weakest cell reaches its limit',
    and(is.current.eq(1), is.cells.is('within')),
    new Change().set(is.cells, 'full'),
  );
  addFaults(system, memory, faults);
}

function addFaults(system: System, memory: Memory, faults: number): void {
  const { is, exchange } = system;
  const add: AddFault = (name, guard, change, happening = {}) =>
    addCommand(system, memory, {
      name: `fault: ${name}`,
      guard: and(is.faults.lt(faults), guard),
      change: change.set(is.faults, is.faults.plus(1)),
      happening,
    });
  add(
    'the contactor welds',
    and(is.contactor.eq(1), is.welded.eq(0)),
    new Change().set(is.welded, 1),
  );
  add('the connection is lost', is.link.eq(0), linkDown(system, memory, exchange.linkCloses));
  const pulled = new Change().set(is.pilot, 2);
  pilotArmed(system, memory, pulled);
  add('the plug is pulled', is.pilot.ne(2), pulled);
  addSignals(system, memory, add);
  addRestarts(system, memory, add);
}

type AddFault = (
  name: string,
  guard: ReturnType<typeof and>,
  change: Change,
  happening?: Happening,
) => void;

/** A signal that a side's machine knows nothing of is before nobody: only what it should bring about is judged. */
function addSignals(system: System, memory: Memory, add: AddFault): void {
  const { is } = system;
  const knows = (side: Side, type: string): boolean =>
    system[side].machine.inputs.some((input) => input.type === type);
  add(
    'the vehicle has a crash signal',
    is.crash.is('no'),
    new Change().set(is.crash, knows('vehicle', 'signal.crash') ? 'signalled' : 'noticed'),
  );
  const pressed = new Change();
  if (knows('charger', 'signal.emergency')) pressed.set(is.emergencyStop, 'pressed');
  pressed.set(is.chargerDue, chargerArmed(system, memory, pressed, constant(EMERGENCY)));
  add("the charger's emergency stop is pressed", is.chargerLink.eq(0), pressed);
  if (knows('vehicle', 'signal.weld')) return;
  addCommand(system, memory, {
    name: 'plant: the inlet stays live',
    guard: and(is.welded.is('stuck'), is.weld.is('unnoticed'), is.volts.is('live')),
    change: new Change().set(is.weld, 'noticed'),
  });
}

/** A side that restarts knows nothing of the session; its power stage, its coils and its pilot switch have fallen back. */
function addRestarts(system: System, memory: Memory, add: AddFault): void {
  const { is, exchange } = system;
  const restarts = (side: Side, change: Change): Change => {
    change.set(is[side], 0);
    for (const [index, clock] of system[side].clocks.entries()) {
      change.set(system.clocks[side][index]!, clock.initial);
    }
    return change;
  };
  const charger = linkDown(system, memory, exchange.linkCloses)
    .set(is.chargerLink, 1)
    .set(is.output, 0)
    .set(is.current, 0)
    .set(is.chargerDue, 0)
    .set(is.pilotSeen, is.pilot);
  add('the charger loses power and restarts', is.chargerLink.eq(0), restarts('charger', charger));
  const opens = is.welded.is('no');
  const vehicle = linkDown(system, memory, exchange.linkCloses)
    .set(is.contactor, ifThen(opens, 0, is.contactor))
    .set(is.current, ifThen(opens, 0, is.current))
    .set(is.welded, ifThen(opens, 0, 2))
    .set(is.pilot, ifThen(is.pilot.is('A'), 2, 0))
    .set(is.vehicleDue, 0);
  pilotArmed(system, memory, vehicle);
  add('the vehicle loses power and restarts', is.vehicleLink.eq(0), restarts('vehicle', vehicle), {
    emergency: true,
  });
}
