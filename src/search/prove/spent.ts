// A side is spent in a state from which, whatever may still reach it, it does nothing more that a rule is about: a vehicle
// that will never again ask for test, pre-charge or power, nor close its contactor; a charger that will never again make
// its output live (`dark`), nor grant a request to (`spent`). What may still reach a side is what the other can still
// send from where it stands, and the message in flight.
import type { MachineTable, TableOutput } from '../../machine/table.ts';
import type { Side } from '../../trace/observation.ts';
import type { ModelBuilder, TableTerm } from '../model/build.ts';
import { quietly, type Arrivals } from './arrivals.ts';
import type { Exchange } from './exchange.ts';

export interface Spent {
  /** [other side's state] → which inputs it can still send; 0 is none. */
  readonly hears: Readonly<Record<Side, TableTerm>>;
  /** [state, what it may hear, wire] → 1 where the vehicle is spent. */
  readonly vehicle: TableTerm;
  /** The same for the charger: 1 where it is dark, 2 where it is spent. */
  readonly charger: TableTerm;
}

type Ends = (output: TableOutput) => boolean;

const ENERGISING = new Set(['CableCheck', 'PreCharge', 'CurrentDemand', 'PowerDelivery']);

const drivesOn: Ends = ({ drives }) =>
  drives.some(
    ({ what, to }) =>
      (what === 'output' && to !== 'off') || (what === 'contactors' && to === 'closed'),
  );

/** A demand of 0 A in this session is a way to stop. */
const asksOn: Ends = ({ sends }) =>
  sends.some((send) => {
    const { message, progress, demand, session } = send;
    if (!message.endsWith('Req') || !ENERGISING.has(message.slice(0, -3))) return false;
    if (session !== 'this') return true;
    if (message === 'CurrentDemandReq') return demand !== 'none';
    return message !== 'PowerDeliveryReq' || progress !== 'stop';
  });

const grants: Ends = ({ sends }) =>
  sends.some(
    ({ message, code }) =>
      message.endsWith('Res') &&
      ENERGISING.has(message.slice(0, -3)) &&
      (code === undefined || code === 'ok'),
  );

const energises: Ends = (output) => drivesOn(output) || asksOn(output) || grants(output);

export function spentTables(
  builder: ModelBuilder,
  machines: Readonly<Record<Side, MachineTable>>,
  exchange: Exchange,
  arrivals: Arrivals,
): Spent {
  const heard = {
    vehicle: groupsOf(machines.charger, 'charger', exchange),
    charger: groupsOf(machines.vehicle, 'vehicle', exchange),
  };
  const hears = (side: Side): TableTerm =>
    builder.table(`${side}_hears`, [heard[side].of.length], heard[side].of);
  const values = (side: Side, ends: Ends): number[] =>
    spentValues(machines[side], side, heard[side].groups, arrivals, ends);
  const table = (side: Side, cells: readonly number[]): TableTerm => {
    const groups = heard[side].groups.length;
    const dimensions = [machines[side].states.length, groups, arrivals.list.length + 1];
    return builder.table(`${side}_spent`, dimensions, cells);
  };
  const dark = values('charger', drivesOn);
  const spent = values('charger', energises);
  return {
    hears: { vehicle: hears('vehicle'), charger: hears('charger') },
    vehicle: table('vehicle', values('vehicle', energises)),
    charger: table(
      'charger',
      dark.map((is, place) => is + spent[place]!),
    ),
  };
}

interface Groups {
  /** Sets of inputs of the receiver; the first is empty. */
  readonly groups: readonly ReadonlySet<number>[];
  /** [sender's state] */
  readonly of: readonly number[];
}

/** What a side can still send from each of its states, as inputs of the other. */
function groupsOf(machine: MachineTable, side: Side, exchange: Exchange): Groups {
  const groups: ReadonlySet<number>[] = [new Set()];
  const ids = new Map([['', 0]]);
  const of = machine.states.map((_, state) => {
    const inputs = new Set<number>();
    for (const output of outputsFrom(machine, state)) {
      for (const send of machine.outputs[output]!.sends) {
        for (const message of exchange.classesOf(side, send)) {
          inputs.add(exchange.classes[message]!.input);
        }
      }
    }
    const key = [...inputs].toSorted((a, b) => a - b).join();
    let id = ids.get(key);
    if (id === undefined) {
      ids.set(key, (id = groups.length));
      groups.push(inputs);
    }
    return id;
  });
  return { groups, of };
}

function outputsFrom({ inputs, next, output }: MachineTable, state: number): Set<number> {
  const reached = [state];
  const known = new Set(reached);
  const found = new Set<number>();
  for (const one of reached) {
    for (let input = 0; input < inputs.length; input += 1) {
      const place = one * inputs.length + input;
      found.add(output[place]!);
      if (known.has(next[place]!)) continue;
      known.add(next[place]!);
      reached.push(next[place]!);
    }
  }
  return found;
}

/** Of [state, group, wire]. */
function spentValues(
  machine: MachineTable,
  side: Side,
  groups: readonly ReadonlySet<number>[],
  { list }: Arrivals,
  ends: Ends,
): number[] {
  const alive = groups.map((heard) => aliveStates(machine, heard, ends));
  const reach = machine.states.map((_, state) => quietly(machine, state));
  const values: number[] = [];
  for (let state = 0; state < machine.states.length; state += 1) {
    for (const living of alive) {
      const rests = living[state] === 0;
      values.push(Number(rests));
      for (const { from, input } of list) {
        const dead = (place: number): boolean =>
          !ends(machine.outputs[machine.output[place]!]!) && living[machine.next[place]!] === 0;
        const after = (one: number): boolean => dead(one * machine.inputs.length + input);
        values.push(Number(rests && (from === side || reach[state]!.every(after))));
      }
    }
  }
  return values;
}

/** Per state: 1 where something that `ends` speaks of can still come, with only these messages heard. */
function aliveStates(
  { states, inputs, outputs, next, output }: MachineTable,
  heard: ReadonlySet<number>,
  ends: Ends,
): Uint8Array {
  const alive = new Uint8Array(states.length);
  const may = inputs.flatMap(({ local, timer, type }, input) =>
    local || timer >= 0 || type === 'link.closed' || heard.has(input) ? [input] : [],
  );
  const ending = outputs.map(ends);
  let grew = true;
  while (grew) {
    grew = false;
    for (let state = 0; state < states.length; state += 1) {
      if (alive[state] === 1) continue;
      const lives = may.some((input) => {
        const place = state * inputs.length + input;
        return ending[output[place]!]! || alive[next[place]!] === 1;
      });
      if (!lives) continue;
      alive[state] = 1;
      grew = true;
    }
  }
  return alive;
}
