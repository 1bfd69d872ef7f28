// How far the parameters let a session go, computed, and what of them stops it before something is harmed: the weakest
// cell, the contacts of the connector, the gate before closing.
import { closingGate_V } from '../../facts/figures.ts';
import {
  ContactHeat,
  currentFactor,
  HIGHEST_CONTACT_C,
  timeToReach_s,
} from '../../physics/contact-heat.ts';
import { chargeLimit } from '../../physics/limits.ts';
import { packWithBands } from '../../simulate/run-scenario.ts';
import type { ParameterSet } from './parameter-file.ts';

export interface Stop {
  readonly what: 'weakest cell, current' | 'weakest cell, voltage' | 'connector' | 'closing gate';
  /** The most that the parameters let through, and the most that may be. Null where a limit is not known. */
  readonly reached: number;
  readonly limit: number | null;
  readonly unit: string;
  /** The parameter that stops it; null: nothing in these parameters does. */
  readonly by: string | null;
  readonly says: string;
  /** Where the limit comes from. */
  readonly source: string;
}

/** Longer than any session: the contacts have reached their end temperature. */
const FOR_GOOD_s = 1e6;
/** States of charge at which the weakest cell is asked. */
const STEP_percent = 1;

export function stopsOf(parameters: ParameterSet): Stop[] {
  return [
    cellCurrent(parameters),
    cellVoltage(parameters),
    connector(parameters),
    gate(parameters),
  ];
}

interface Bound {
  readonly value: number;
  readonly by: string;
}

/** The least of the limits both sides tell, and the parameter that is it. */
function least(bounds: readonly Bound[]): Bound {
  return bounds.reduce((one, other) => (other.value < one.value ? other : one));
}

/** What may flow into a battery of this voltage. */
function mostCurrent({ vehicle, charger }: ParameterSet, battery_V: number): Bound {
  const power = (watts: number | undefined, by: string): Bound[] =>
    watts === undefined ? [] : [{ value: watts / battery_V, by }];
  return least([
    { value: vehicle.limits.current_A, by: 'vehicle.limits.current_A' },
    { value: charger.limits.current_A, by: 'charger.limits.current_A' },
    ...power(vehicle.limits.power_W, 'vehicle.limits.power_W'),
    ...power(charger.limits.power_W, 'charger.limits.power_W'),
  ]);
}

/** Asked from the state of charge at the start to the target; told where it is tightest. */
function cellCurrent(parameters: ParameterSet): Stop {
  const { vehicle } = parameters;
  const { stateOfCharge_percent: from, temperature_C } = vehicle.pack;
  let tightest = { spare_A: Infinity, at: from, cells_A: 0, by: 'voltage', bound: NONE };
  for (let at = from; at <= Math.max(from, vehicle.target_percent); at += STEP_percent) {
    const { pack, bands } = packWithBands({ ...vehicle.pack, stateOfCharge_percent: at }, SEED);
    const { current_A, by } = chargeLimit(pack, bands);
    const bound = mostCurrent(parameters, pack.restVoltage_V);
    const spare_A = current_A - bound.value;
    if (spare_A < tightest.spare_A) tightest = { spare_A, at, cells_A: current_A, by, bound };
  }
  const { at, cells_A, by, bound } = tightest;
  const [reached, limit] = [rounded(bound.value), rounded(cells_A)];
  const held = bound.value <= cells_A;
  const why = by === 'temperature' ? `at ${temperature_C} °C` : 'before its voltage limit';
  return {
    what: 'weakest cell, current',
    reached,
    limit,
    unit: 'A',
    by: held ? bound.by : null,
    says: `the weakest cell takes ${limit} A ${why} (${Math.round(at)} % charged); ${reached} A may be asked for`,
    source:
      'src/physics/limits.ts, chargeLimit: charge rates by temperature and cell voltage, with their sources',
  };
}

const NONE: Bound = { value: 0, by: '' };
/** One pack of the spread, always the same. */
const SEED = 1;

function cellVoltage({ vehicle, charger }: ParameterSet): Stop {
  const { pack } = packWithBands(vehicle.pack, SEED);
  const limit = rounded(pack.design.highest_V * vehicle.pack.cells);
  const bound = least([
    { value: vehicle.limits.voltage_V, by: 'vehicle.limits.voltage_V' },
    { value: charger.limits.voltage_V, by: 'charger.limits.voltage_V' },
  ]);
  return {
    what: 'weakest cell, voltage',
    reached: bound.value,
    limit,
    unit: 'V',
    by: bound.value <= limit ? bound.by : null,
    says: `${vehicle.pack.cells} cells of ${pack.design.highest_V} V bear ${limit} V; ${bound.value} V may be asked for`,
    source: `src/physics/cell.ts, ${pack.design.name}`,
  };
}

function connector(parameters: ParameterSet): Stop {
  const { vehicle } = parameters;
  const { pack } = packWithBands(vehicle.pack, SEED);
  const bound = mostCurrent(parameters, pack.restVoltage_V);
  const source =
    'src/physics/contact-heat.ts: 50 K at the rated current, 90 °C at most (from memory)';
  if (parameters.connector === null) {
    const says = `${rounded(bound.value)} A may flow, and no connector is named: how warm it gets is not known`;
    const reached = rounded(bound.value);
    return { what: 'connector', reached, limit: null, unit: 'A', by: null, says, source };
  }
  const { rated_A, ambient_C, highest_C } = parameters.connector;
  const contacts = new ContactHeat({ rated_A, ambient_C });
  contacts.step(FOR_GOOD_s, bound.value);
  const reached = rounded(contacts.temperature_C);
  const common = {
    what: 'connector' as const,
    reached,
    limit: HIGHEST_CONTACT_C,
    unit: '°C',
    source,
  };
  const head = `${rounded(bound.value)} A at ${ambient_C} °C heat the contacts to ${reached} °C`;
  if (contacts.temperature_C <= HIGHEST_CONTACT_C) {
    return { ...common, by: bound.by, says: `${head}; ${HIGHEST_CONTACT_C} °C may be` };
  }
  const after_s = timeToReach_s(HIGHEST_CONTACT_C - ambient_C, contacts.rise_K);
  const bears_A = rounded(rated_A * currentFactor(ambient_C));
  const says = `${head}, past ${HIGHEST_CONTACT_C} °C after ${Math.round(after_s)} s; they bear ${bears_A} A for good`;
  const sensed = highest_C !== null && highest_C <= HIGHEST_CONTACT_C;
  return { ...common, by: sensed ? 'connector.highest_C' : null, says };
}

function gate({ vehicle: { closesWithin_V } }: ParameterSet): Stop {
  const { value, source } = closingGate_V;
  return {
    what: 'closing gate',
    reached: closesWithin_V,
    limit: value,
    unit: 'V',
    by: closesWithin_V <= value ? 'vehicle.closesWithin_V' : null,
    says: `the vehicle closes within ${closesWithin_V} V; ${value} V may be`,
    source,
  };
}

const rounded = (value: number): number => Number(value.toPrecision(4));
