// The plant: voltages and current as far as the rules tell them apart, and the faults a run may have.
import { and } from '../model/build.ts';
import { Change } from './change.ts';
import { addCommand } from './commands.ts';
import type { Memory } from './memory.ts';
import { linkDown } from './link.ts';
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
    and(is.current.eq(0), is.output.is('on'), is.contactor.eq(1), is.wants.eq(1)),
    new Change().set(is.current, 1).set(is.quiet, 0),
  );
  addFaults(system, memory, faults);
}

function addFaults(system: System, memory: Memory, faults: number): void {
  const { is, charger, exchange } = system;
  const add = (name: string, guard: ReturnType<typeof and>, change: Change): void =>
    addCommand(system, memory, {
      name: `fault: ${name}`,
      guard: and(is.faults.lt(faults), guard),
      change: change.set(is.faults, is.faults.plus(1)),
    });
  add(
    'the contactor welds',
    and(is.contactor.eq(1), is.welded.eq(0)),
    new Change().set(is.welded, 1),
  );
  add('the connection is lost', is.link.eq(0), linkDown(system, memory, exchange.linkCloses));
  add('the plug is pulled', is.pilot.ne(2), new Change().set(is.pilot, 2));
  const restart = linkDown(system, memory, exchange.linkCloses)
    .set(is.charger, 0)
    .set(is.chargerLink, 1)
    .set(is.output, 0)
    .set(is.current, 0)
    .set(is.chargerDue, 0)
    .set(is.pilotSeen, is.pilot);
  for (const [index, clock] of charger.clocks.entries()) {
    restart.set(system.clocks.charger[index]!, clock.initial);
  }
  add('the charger loses power and restarts', is.chargerLink.eq(0), restart);
}
