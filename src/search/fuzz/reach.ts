// How far a campaign has come: values of facts, states and transitions of both machines. Each thing reached has a number,
// the same in every worker, so that numbers are all that has to be told.
import { canonical } from '../../machine/canonical.ts';
import type { MachineEvent } from '../../machine/convention.ts';
import { inputOf, type MachineTable } from '../../machine/table.ts';
import type { StateView } from '../../machine/step.ts';
import type { OnStep } from '../../simulate/machine-side.ts';
import type { Side } from '../../trace/observation.ts';
import { coverageOf, type Coverage } from '../prove/coverage.ts';
import { FACT_VALUE_COUNT, factValueWords } from './fact-values.ts';

/** Null for a side that is no machine. */
export type Tables = Readonly<Record<Side, MachineTable | null>>;

interface SidePlace {
  readonly table: MachineTable;
  /** Number of the reaction to input 0 in state 0. */
  readonly first: number;
  readonly states: ReadonlyMap<string, number>;
  readonly known: WeakMap<StateView, number>;
}

export class Reach {
  /** One more than the largest number. */
  readonly size: number;
  readonly #sides: Readonly<Record<Side, SidePlace | null>>;
  readonly #pairs: number;
  readonly #chargerStates: number;
  readonly #at = { vehicle: 0, charger: 0 };
  #seen: Uint8Array;
  #found: number[] = [];

  constructor({ vehicle, charger }: Tables) {
    const vehicleAt = placeOf(vehicle, FACT_VALUE_COUNT);
    const chargerAt = placeOf(charger, FACT_VALUE_COUNT + places(vehicle));
    this.#sides = { vehicle: vehicleAt, charger: chargerAt };
    this.#pairs = FACT_VALUE_COUNT + places(vehicle) + places(charger);
    this.#chargerStates = charger?.states.length ?? 1;
    this.size = this.#pairs + (vehicle?.states.length ?? 1) * this.#chargerStates;
    this.#seen = new Uint8Array(this.size);
  }

  readonly onFact = (number: number): void => {
    this.#mark(number);
  };

  /** Told of the steps of one side's machine. */
  onStep(side: Side): OnStep {
    const place = this.#sides[side];
    if (place === null) return () => {};
    const { table, first, states, known } = place;
    return (view: StateView, event: MachineEvent) => {
      let state = known.get(view);
      if (state === undefined) known.set(view, (state = states.get(keyOf(view)) ?? -1));
      const input = inputOf(table, event);
      if (state < 0 || input < 0) return;
      const reaction = state * table.inputs.length + input;
      this.#mark(first + reaction);
      this.#at[side] = table.next[reaction]!;
      // Where both stand together guides the search; no reach is told of it.
      this.#mark(this.#pairs + this.#at.vehicle * this.#chargerStates + this.#at.charger);
    };
  }

  begin(): void {
    this.#at.vehicle = 0;
    this.#at.charger = 0;
    this.#found = [];
  }

  /** What was reached since `begin` and never before. */
  news(): readonly number[] {
    return this.#found;
  }

  #mark(number: number): void {
    if (this.#seen[number] === 1) return;
    this.#seen[number] = 1;
    this.#found.push(number);
  }
}

export interface ReachTold {
  readonly facts: { readonly reached: number; readonly total: number; readonly missed: string[] };
  /** Null for a side that is no machine. */
  readonly vehicle: Coverage | null;
  readonly charger: Coverage | null;
}

/** The reach in words, from the numbers of all that was reached. */
export function tellReach({ vehicle, charger }: Tables, reached: Uint8Array): ReachTold {
  const words = factValueWords();
  const missed = words.filter((_, number) => reached[number] !== 1);
  const of = (table: MachineTable | null, first: number): Coverage | null =>
    table === null ? null : coverageOf(table, reached.subarray(first, first + places(table)));
  return {
    facts: { reached: words.length - missed.length, total: words.length, missed },
    vehicle: of(vehicle, FACT_VALUE_COUNT),
    charger: of(charger, FACT_VALUE_COUNT + places(vehicle)),
  };
}

function places(table: MachineTable | null): number {
  return table === null ? 0 : table.states.length * table.inputs.length;
}

function placeOf(table: MachineTable | null, first: number): SidePlace | null {
  if (table === null) return null;
  const states = new Map(table.states.map((state, index) => [keyOf(state), index]));
  return { table, first, states, known: new WeakMap() };
}

function keyOf({ leaves, context }: Pick<StateView, 'leaves' | 'context'>): string {
  return `${leaves.join(' + ')} ${canonical(context)}`;
}
