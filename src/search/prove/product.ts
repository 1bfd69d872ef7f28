// The whole as one finite model: vehicle × charger × link × plant × faults × what the rules remember.
import type { MachineTable } from '../../machine/table.ts';
import { timeout_ns, type Protocol } from '../../protocols/index.ts';
import type { Side } from '../../trace/observation.ts';
import { and, not } from '../model/build.ts';
import type { Model } from '../model/form.ts';
import { anyPeer } from './any-peer.ts';
import { Change } from './change.ts';
import { addCommand } from './commands.ts';
import { modelledRules, RELEVANT, RESIDUAL } from './facts.ts';
import { memoryOf, type Memory } from './memory.ts';
import { addPlant } from './plant.ts';
import { addReaction, answerArrives, requestArrives } from './reactions.ts';
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
  /** Only this side is the machine given; its peer may do anything, and only this side is judged. */
  alone?: Side;
}

export function productOf(
  machines: Record<Side, MachineTable>,
  protocol: Protocol,
  options: ProductOptions,
): Product {
  const { alone } = options;
  const peers = alone === undefined ? machines : againstAnything(machines, alone);
  const fewest = { vehicle: quotientOf(peers.vehicle), charger: quotientOf(peers.charger) };
  const system = systemOf(fewest, protocol.dialect, protocol.dialect.protocol, alone);
  const memory = memoryOf(system, (request) => timeout_ns(protocol, request));
  const { builder } = system;
  builder.noteSet(RELEVANT, modelledRules.length).noteSet(RESIDUAL, modelledRules.length);
  for (const side of ['vehicle', 'charger'] as const) {
    const { states, inputs } = system[side].machine;
    builder.noteSet(side, states.length * inputs.length);
  }
  addOwnMoves(system, memory);
  if (alone === undefined) addDeliveries(system, memory);
  else addAnything(system, memory, alone);
  addTimers(system, memory);
  addLinkEnd(system, memory);
  addPlant(system, memory, options.faults);
  addTick(system, memory);
  for (const [index, rule] of modelledRules.entries()) {
    builder.invariant(rule.id, system.is.broken.ne(index + 1));
  }
  return { model: builder.build(), system };
}

type Machines = Record<Side, MachineTable>;

function againstAnything(machines: Machines, alone: Side): Machines {
  const other = alone === 'vehicle' ? 'charger' : 'vehicle';
  const peer = anyPeer(machines[alone], machines[other].of.alphabet);
  return { ...machines, [other]: peer };
}

/** The message in flight arrives, whenever the link likes. */
function addDeliveries(system: System, memory: Memory): void {
  const { is, tables } = system;
  const message = inFlight(system);
  const isRequest = tables.isRequest.at(message);
  addReaction(system, memory, {
    name: 'a request reaches the charger',
    side: 'charger',
    input: tables.inputOf.charger.at(message),
    guard: and(is.wire.ne(0), isRequest, is.chargerLink.eq(0)),
    change: () => requestArrives(system, memory, message, new Change()),
  });
  addReaction(system, memory, {
    name: 'an answer reaches the vehicle',
    side: 'vehicle',
    input: tables.inputOf.vehicle.at(message),
    guard: and(is.wire.ne(0), not(isRequest), is.vehicleLink.eq(0)),
    change: () => answerArrives(system, memory, message, new Change()),
  });
}

/** Whatever the other side may say, read as it is sent; what nobody reads waits in the stream. */
function addAnything(system: System, memory: Memory, alone: Side): void {
  const { is, exchange, builder } = system;
  const other = alone === 'vehicle' ? 'charger' : 'vehicle';
  const said = exchange.classes.flatMap(({ from, input }, index) =>
    from === other && input >= 0 ? [index] : [],
  );
  const inputs = exchange.classes.map(({ from, input }) =>
    from === other ? Math.max(0, input) : 0,
  );
  const pick = builder.choice('said', said.length);
  const message = builder.table('said', [said.length], said).at(pick);
  const own = alone === 'vehicle' ? is.vehicleLink : is.chargerLink;
  addReaction(system, memory, {
    name: `anything reaches the ${alone}`,
    side: alone,
    input: builder.table('said_input', [inputs.length], inputs).at(message),
    choose: [pick],
    guard: and(is.link.eq(0), own.eq(0), memory.reads.at(is[alone], message)),
    hears: message,
  });
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
