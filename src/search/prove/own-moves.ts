// Choices and sensors of a side: what the standard leaves to it, and what its own eyes tell of the plant.
import { ignores, type MachineTable } from '../../machine/table.ts';
import type { Side } from '../../trace/observation.ts';
import { and, type Operand, type Term } from '../model/build.ts';
import { SAYS } from './any-peer.ts';
import { Change } from './change.ts';
import type { Memory } from './memory.ts';
import { addReaction } from './reactions.ts';
import type { System } from './system.ts';

/** What a sensor may say, in the words of the machines' facts; any other fact of a choice is free. */
const SENSES = {
  locked: ['no', 'yes'],
  gate: ['outside', 'inside'],
  current: ['none', 'flowing'],
  inlet: ['safe', 'live'],
  pilot: ['B', 'C', 'A'],
  cells: ['within', 'full'],
} as const;
type Sense = keyof typeof SENSES;

function plantOf({ is }: System): Record<Sense, Term> {
  return {
    locked: is.lock,
    gate: is.gate,
    current: is.current,
    inlet: is.volts,
    pilot: is.pilot,
    cells: is.cells.min(1),
  };
}

/** Signals that a side has before it, and what it leaves of them once it has taken notice. */
interface Signal {
  readonly pending: Term;
  noticed(): Change;
}

function signalsOf({ is }: System): Readonly<Record<string, Signal>> {
  return {
    'sense.pilot': {
      pending: is.pilotSeen.ne(is.pilot),
      noticed: () => new Change().set(is.pilotSeen, is.pilot),
    },
    'signal.crash': {
      pending: is.crash.is('signalled'),
      noticed: () => new Change().set(is.crash, 'noticed'),
    },
    'signal.emergency': {
      pending: is.emergencyStop.is('pressed'),
      noticed: () => new Change().set(is.emergencyStop, 'no'),
    },
    // A contactor that was asked to open, and still the inlet is live.
    'signal.weld': {
      pending: and(is.welded.is('stuck'), is.weld.is('unnoticed'), is.volts.is('live')),
      noticed: () => new Change().set(is.weld, 'noticed'),
    },
  };
}

export function addOwnMoves(system: System, memory: Memory): void {
  for (const side of ['vehicle', 'charger'] as const) {
    const { inputs } = system[side].machine;
    const types = new Set(inputs.filter(({ local }) => local).map(({ type }) => type));
    for (const type of types) {
      // What a peer of which nothing is known says is read as it is sent.
      if (type.startsWith(SAYS)) continue;
      addMove(system, memory, side, type);
    }
  }
}

/** One command for all the ways one choice can turn out: in each state, and for what the plant shows, the distinct ones. */
function addMove(system: System, memory: Memory, side: Side, type: string): void {
  const { is, builder } = system;
  const { machine } = system[side];
  const own = machine.inputs.flatMap((input, index) => (input.type === type ? [index] : []));
  const senses = (Object.keys(SENSES) as Sense[]).filter((sense) =>
    own.some((input) => machine.inputs[input]!.facts.some((box) => box[sense] !== undefined)),
  );
  const signal = signalsOf(system)[type];
  const ways = machine.states.flatMap((_, state) =>
    valuations(senses).map((words) =>
      distinctWays(machine, state, own, senses, words, signal !== undefined),
    ),
  );
  const most = Math.max(...ways.map((inputs) => inputs.length));
  if (most === 0) return;
  const name = `${side}_${type.replaceAll(/[^a-z]/g, '_')}`;
  const sizes = [machine.states.length, ...senses.map((sense) => SENSES[sense].length)];
  const plant = plantOf(system);
  const place = [is[side], ...senses.map((sense) => plant[sense])];
  const count = builder.table(
    `${name}_count`,
    sizes,
    ways.map((inputs) => inputs.length),
  );
  const inputs = builder.table(
    `${name}_inputs`,
    [...sizes, most],
    ways.flatMap((one) => Array.from({ length: most }, (_, at) => one[at] ?? 0)),
  );
  const way = builder.choice('way', count.at(...place));
  addReaction(system, memory, {
    name: `${side}: ${type}`,
    side,
    input: inputs.at(...place, way),
    choose: [way],
    guard: signal?.pending ?? mayMove(system, type),
    ...(signal === undefined ? {} : { change: () => signal.noticed() }),
  });
}

/** A pilot that changes stays until the charger has seen it: what is shorter is filtered as noise. */
function mayMove({ alone, is }: System, type: string): Operand {
  const switches = alone === 'charger' && type.startsWith('choose.pilot');
  return switches ? is.pilotSeen.eq(is.pilot) : true;
}

function valuations(senses: readonly Sense[]): string[][] {
  return senses.reduce<string[][]>(
    (all, sense) => all.flatMap((before) => SENSES[sense].map((word) => [...before, word])),
    [[]],
  );
}

/** One input for each different reaction; what the machine takes no notice of is no way, unless it must be seen. */
function distinctWays(
  machine: MachineTable,
  state: number,
  own: readonly number[],
  senses: readonly Sense[],
  words: readonly string[],
  idleCounts: boolean,
): number[] {
  const { inputs, next, output } = machine;
  const found = new Map<string, number>();
  for (const input of own) {
    const shows = inputs[input]!.facts.some((box) =>
      senses.every((sense, at) => box[sense]?.includes(words[at]!) ?? true),
    );
    if (!shows || (!idleCounts && ignores(machine, state, input))) continue;
    const place = state * inputs.length + input;
    const reaction = `${next[place]} ${output[place]}`;
    if (!found.has(reaction)) found.set(reaction, input);
  }
  return [...found.values()];
}
