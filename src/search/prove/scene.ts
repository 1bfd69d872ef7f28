// What stands at the charging interface in a state of the model, in numbers: one pack and one charger that are as the
// classes of the plant say. The numbers stay well inside their classes, so that no tolerance decides.
import type { Model, State } from '../model/form.ts';

export interface Scene {
  readonly outputOn: boolean;
  readonly contactor: 'open' | 'closed';
  readonly lock: 'unlocked' | 'locked';
  readonly pilot: 'A' | 'B' | 'C';
  /** At the charger's output and, through the cable, at the vehicle's inlet. */
  readonly voltage_V: number;
  readonly current_A: number;
  readonly highestCell_V: number;
}

/** A pack of 100 cells in series at 4 V. */
export const BATTERY_V = 400;
export const CELL_LIMITS = { highest_V: 4.2, lowest_V: 3 } as const;
export const LOWEST_CELL_V = 3.9;
/** What the vehicle asks for where it asks for current. */
export const DEMAND_A = 100;

const FAR_FROM_BATTERY_V = BATTERY_V - 60;
/** Inside the gate of 20 V. */
const NEAR_BATTERY_V = BATTERY_V - 5;
/** Charging lifts the terminals a little. */
const CHARGING_V = BATTERY_V + 5;
/** The isolation test's voltage: as high as the vehicle allows. */
const TEST_V = BATTERY_V + 20;
const CELLS_V: Readonly<Record<string, number>> = { within: 4, full: 4.2, pushed: 4.25 };

/**
 * Reads states of one model. In the model an output that is switched on may rise at any later time; here, where `risen`
 * says so, it has: a power stage is as fast as that.
 */
export function sceneReader(model: Model): (state: State, risen: boolean) => Scene {
  const wordOf = (name: string): ((state: State) => string) => {
    const index = model.variables.findIndex((variable) => variable.name === name);
    const names = model.variables[index]?.names;
    if (names === undefined) throw new Error(`the model has no words for ${name}`);
    return (state) => names[state[index]!]!;
  };
  const [contactor, lock, pilot] = [wordOf('contactor'), wordOf('lock'), wordOf('pilot')];
  const [output, volts, gate] = [wordOf('output'), wordOf('volts'), wordOf('gate')];
  const [current, cells] = [wordOf('current'), wordOf('cells')];
  return (state, risen) => {
    const live = risen && output(state) !== 'off' ? 'live' : volts(state);
    const flows = current(state) === 'flowing';
    const closed = contactor(state) === 'closed';
    return {
      outputOn: output(state) !== 'off',
      contactor: closed ? 'closed' : 'open',
      lock: lock(state) === 'locked' ? 'locked' : 'unlocked',
      pilot: pilot(state) as Scene['pilot'],
      voltage_V: voltageOf(closed, flows, live, gate(state), output(state)),
      current_A: flows ? DEMAND_A : 0,
      highestCell_V: CELLS_V[cells(state)]!,
    };
  };
}

function voltageOf(
  closed: boolean,
  flows: boolean,
  volts: string,
  gate: string,
  output: string,
): number {
  if (volts === 'safe') return 0;
  if (closed) return flows ? CHARGING_V : BATTERY_V;
  if (gate === 'inside') return NEAR_BATTERY_V;
  return output === 'test' ? TEST_V : FAR_FROM_BATTERY_V;
}
