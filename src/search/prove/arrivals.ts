// What is left of a message once it is on its way. The consents, the latch and the notice change as it is sent; its
// receiver's input, what it asks for and the duty it will arm are all that still matters.
import type { DutyKind } from '../../facts/duty-table.ts';
import { dutyTable } from '../../facts/duty-table.ts';
import type { MachineTable } from '../../machine/table.ts';
import type { Side } from '../../trace/observation.ts';
import { triggersOf } from './dialogue.ts';
import { demandOf, PLACES, type Exchange } from './exchange.ts';
import { TICK_ms } from './side-tables.ts';

export interface Arrival {
  readonly from: Side;
  /** The receiver's input for it. */
  readonly input: number;
  /** 0 says nothing, 1 asks for no current, 2 asks for some. */
  readonly demand: number;
  /** Ticks + 1 of the duty it arms in its receiver, 0 for none. */
  readonly duty: number;
}

export interface Arrivals {
  readonly list: readonly Arrival[];
  /** [message * PLACES + place], an index into `list`. */
  readonly of: readonly number[];
  /** [arrival], the same without a duty. */
  readonly bare: readonly number[];
}

export function arrivalsOf({ classes, said }: Exchange): Arrivals {
  const list: Arrival[] = [];
  const ids = new Map<string, number>();
  const idOf = (arrival: Arrival): number => {
    const key = JSON.stringify(arrival);
    let id = ids.get(key);
    if (id === undefined) {
      ids.set(key, (id = list.length));
      list.push(arrival);
    }
    return id;
  };
  const of = classes.flatMap((message, index) =>
    Array.from({ length: PLACES }, (_, place) => {
      // Where a duty to stop counts isolation had passed: a message that takes it back arms one too.
      const kinds = triggersOf(said(index, place), 'valid');
      return idOf({
        from: message.from,
        input: Math.max(0, message.input),
        demand: [null, 'none', 'some'].indexOf(demandOf(message)),
        duty: message.from === 'vehicle' ? most(kinds, chargerTicks) : least(kinds, vehicleTicks),
      });
    }),
  );
  const bare = [...list].map((arrival) => idOf({ ...arrival, duty: 0 }));
  return { list, of, bare: list.map((_, index) => bare[index] ?? index) };
}

/** Current that a stop may have to bring down: a demand after a notice may go on for 1 s and the fall of 500 A. */
const FALL_s = 5;

const ticks = (seconds: number): number => 1 + Math.ceil((seconds * 1000) / TICK_ms);

const most = (kinds: readonly DutyKind[], ticksOf: (kind: DutyKind) => number): number =>
  Math.max(0, ...kinds.map(ticksOf));

const least = (kinds: readonly DutyKind[], ticksOf: (kind: DutyKind) => number): number => {
  const duties = kinds.map(ticksOf).filter((duty) => duty > 0);
  return duties.length === 0 ? 0 : Math.min(...duties);
};

/** A duty of the vehicle alone leaves it time to bring the current down itself; one of both sides does not. */
function vehicleTicks(kind: DutyKind): number {
  const { vehicle, charger } = dutyTable[kind];
  if (vehicle === null) return 0;
  return 1 + ticks(charger === null ? vehicle.end_s + FALL_s : vehicle.end_s);
}

/** A current is there or not: the charger has shown no sign while it is, so the sign's deadline counts. */
function chargerTicks(kind: DutyKind): number {
  const { charger } = dutyTable[kind];
  return charger === null ? 0 : 1 + ticks(charger.sign_s);
}

/** Duties of the charger that its own answer arms, by message and place. */
export function ownDuties({ classes, said }: Exchange): number[] {
  return classes.flatMap(({ from }, index) =>
    Array.from({ length: PLACES }, (_, place) => {
      const kinds = from === 'charger' ? triggersOf(said(index, place), 'valid') : [];
      return most(
        kinds.filter((kind) => dutyTable[kind].vehicle !== null),
        (kind) => (dutyTable[kind].charger === null ? 0 : vehicleTicks(kind)),
      );
    }),
  );
}

/**
 * [state, 1 + arrival] → the first arrival that the receiver, in that state or in any it can come to by itself, cannot
 * tell from this one. What it may do while a message is before it sends nothing: the link holds one message.
 */
export function settled(machine: MachineTable, side: Side, { list }: Arrivals): number[] {
  const table: number[] = [];
  for (let state = 0; state < machine.states.length; state += 1) {
    const reach = quietly(machine, state);
    const firsts = new Map<string, number>();
    table.push(0);
    for (const [index, { from, input, demand, duty }] of list.entries()) {
      const places = reach.map((one) => one * machine.inputs.length + input);
      const answers = places.map((place) => `${machine.next[place]}/${machine.output[place]}`);
      const key = `${demand} ${duty} ${answers.join(' ')}`;
      if (from !== side && !firsts.has(key)) firsts.set(key, index);
      table.push(1 + (from === side ? index : firsts.get(key)!));
    }
  }
  return table;
}

/** States a machine can come to by its own moves and timers without sending anything, and the state itself. */
export function quietly(machine: MachineTable, state: number): number[] {
  const { inputs, outputs, next, output } = machine;
  const reached = [state];
  for (const one of reached) {
    for (const [input, { local, timer }] of inputs.entries()) {
      const place = one * inputs.length + input;
      if (!(local || timer >= 0) || outputs[output[place]!]!.sends.length > 0) continue;
      if (!reached.includes(next[place]!)) reached.push(next[place]!);
    }
  }
  return reached;
}
