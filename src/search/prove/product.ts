// The whole as one finite model: vehicle × charger × link × plant × faults × what the rules remember.
import type { MachineTable } from '../../machine/table.ts';
import { timeout_ns, type Protocol } from '../../protocols/index.ts';
import type { Side } from '../../trace/observation.ts';
import { and, ifThen, not, type Term } from '../model/build.ts';
import type { Model } from '../model/form.ts';
import { Change } from './change.ts';
import { addCommand } from './commands.ts';
import { modelledRules, RELEVANT } from './facts.ts';
import { memoryOf, type Memory } from './memory.ts';
import { addPlant } from './plant.ts';
import { addReaction, chargerArmed, sooner } from './reactions.ts';
import { addOwnMoves } from './own-moves.ts';
import { addTick, addTimers } from './time.ts';
import { linkDown } from './link.ts';
import { quotientOf } from './quotient.ts';
import { inFlight, systemOf, type System } from './system.ts';

export interface Product {
  readonly model: Model;
  readonly system: System;
}

export interface ProductOptions {
  /** Faults a run may have, at most FAULTS_AT_MOST. */
  faults: number;
}

export function productOf(
  machines: Record<Side, MachineTable>,
  protocol: Protocol,
  options: ProductOptions,
): Product {
  const fewest = { vehicle: quotientOf(machines.vehicle), charger: quotientOf(machines.charger) };
  const system = systemOf(fewest, protocol.dialect, protocol.dialect.protocol);
  const memory = memoryOf(system, (request) => timeout_ns(protocol, request));
  const { builder } = system;
  builder.noteSet(RELEVANT, modelledRules.length);
  for (const side of ['vehicle', 'charger'] as const) {
    const { states, inputs } = system[side].machine;
    builder.noteSet(side, states.length * inputs.length);
  }
  addOwnMoves(system, memory);
  addDeliveries(system, memory);
  addTimers(system, memory);
  addLinkEnd(system, memory);
  addPlant(system, memory, options.faults);
  addTick(system, memory);
  for (const [index, rule] of modelledRules.entries()) {
    builder.invariant(rule.id, system.is.broken.ne(index + 1));
  }
  return { model: builder.build(), system };
}

/** The message in flight arrives, whenever the link likes. */
function addDeliveries(system: System, memory: Memory): void {
  const { is, tables } = system;
  const message = inFlight(system);
  const isRequest = tables.isRequest.at(message);
  addReaction(system, memory, {
    name: 'a request reaches the charger',
    side: 'charger',
    input: tables.inputOf.at(message),
    guard: and(is.wire.ne(0), isRequest, is.chargerLink.eq(0)),
    change: () => requestArrives(system, memory, message),
  });
  addReaction(system, memory, {
    name: 'an answer reaches the vehicle',
    side: 'vehicle',
    input: tables.inputOf.at(message),
    guard: and(is.wire.ne(0), not(isRequest), is.vehicleLink.eq(0)),
    change: () => answerArrives(system, memory, message),
  });
}

function requestArrives(system: System, memory: Memory, message: Term): Change {
  const { is } = system;
  const demand = system.tables.demand.at(message);
  const duty = system.tables.duty.at(message);
  const change = new Change()
    .set(is.wire, 0)
    .set(is.quiet, 0)
    .set(is.wants, ifThen(demand.eq(0), is.wants, demand.minus(1)))
    .set(is.current, ifThen(demand.eq(1), 0, is.current));
  return change.set(is.chargerDue, chargerArmed(system, memory, change, duty));
}

function answerArrives(system: System, memory: Memory, message: Term): Change {
  const { is } = system;
  const flows = memory.mayFlow.at(is.consents);
  const duty = system.tables.duty.at(message);
  return new Change()
    .set(is.wire, 0)
    .set(is.patience, ifThen(is.patience.eq(1), 1, 0))
    .set(is.vehicleDue, ifThen(duty.gt(0), sooner(is.vehicleDue, duty, flows), is.vehicleDue));
}

/** Nothing that comes from outside means anything to it any more. */
function isOver({ inputs, next, output, states }: MachineTable, state: number): boolean {
  const unmoved = inputs.every((input, index) => {
    const place = state * inputs.length + index;
    return input.local || (next[place] === state && output[place] === 0);
  });
  return unmoved && states[state]!.timers.length === 0;
}

/** A side that has ended the session closes the connection; each takes notice of a dead link when it likes. */
function addLinkEnd(system: System, memory: Memory): void {
  const { is, exchange, builder } = system;
  for (const side of ['vehicle', 'charger'] as const) {
    const tables = system[side];
    const own = side === 'vehicle' ? is.vehicleLink : is.chargerLink;
    const input = tables.machine.inputs.findIndex(({ type }) => type === 'link.closed');
    addReaction(system, memory, {
      name: `${side}: sees that the connection is closed`,
      side,
      input,
      guard: and(is.link.eq(1), own.eq(0)),
      change: () => new Change().set(own, 1),
    });
    const ends = builder.table(
      `${side}_may_close`,
      [tables.machine.states.length],
      tables.machine.states.map((_, state) => Number(isOver(tables.machine, state))),
    );
    addCommand(system, memory, {
      name: `${side}: closes the connection`,
      guard: and(is.link.eq(0), ends.at(is[side])),
      change: linkDown(system, memory, exchange.linkCloses).set(own, 1),
    });
  }
}
