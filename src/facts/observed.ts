// What recorders other than the capture saw (pilot, lock, plug, cells, alarms), as readings and as facts.
import type { Observation } from '../trace/observation.ts';
import { isolationClass } from './isolation-class.ts';
import type { Reading } from './reading.ts';
import type { Facts } from './vocabulary.ts';

/** Limits of the pack's cells, from the trace's header: they differ from pack to pack. */
export interface CellLimits {
  highest_V?: number;
  lowest_V?: number;
  hottest_C?: number;
  coldest_C?: number;
}

/** A reading of an observation that is no message. */
export function readObserved(observation: Observation): Reading {
  const reading: Reading = {
    at_ns: observation.at_ns,
    frame: observation.frame ?? null,
    from: observation.kind === 'alarm' ? observation.side : null,
    name: observation.kind,
    evidence: 'measured',
    observed: observation,
  };
  if (observation.kind === 'isolation' && observation.ratedVoltage_V !== undefined) {
    const { resistance_ohm, ratedVoltage_V } = observation;
    reading.isolationClass = isolationClass(resistance_ohm, ratedVoltage_V);
  }
  return reading;
}

export function stepObservedFacts(facts: Facts, reading: Reading, cells: CellLimits | null): Facts {
  const { observed: seen, pilot } = reading;
  if (seen === undefined) return facts;
  if (pilot !== undefined) {
    return { ...facts, pilot: pilot.state, plugged: pilot.state === 'A' ? 'no' : facts.plugged };
  }
  switch (seen.kind) {
    case 'lock':
      return { ...facts, locked: seen.state === 'locked' ? 'yes' : 'no' };
    case 'plug':
      return { ...facts, plugged: seen.state === 'in' ? 'yes' : 'no' };
    case 'alarm':
      return { ...facts, [`${seen.side}Alarm`]: seen.alarm };
    case 'cells':
      return { ...facts, cells: cellVoltages(seen.lowest_V, seen.highest_V, cells) };
    case 'temperature':
      return seen.place === 'cell'
        ? { ...facts, cells: cellTemperature(seen.temperature_C, cells, facts.cells) }
        : facts;
    default:
      return facts;
  }
}

function cellVoltages(
  lowest_V: number | undefined,
  highest_V: number | undefined,
  limits: CellLimits | null,
): Facts['cells'] {
  if (limits?.highest_V === undefined || highest_V === undefined) return 'unknown';
  if (highest_V > limits.highest_V) return 'over-voltage';
  if (limits.lowest_V !== undefined && lowest_V !== undefined && lowest_V < limits.lowest_V) {
    return 'under-voltage';
  }
  return 'within';
}

function cellTemperature(
  temperature_C: number,
  limits: CellLimits | null,
  before: Facts['cells'],
): Facts['cells'] {
  if (limits?.hottest_C !== undefined && temperature_C > limits.hottest_C) return 'too hot';
  if (limits?.coldest_C !== undefined && temperature_C < limits.coldest_C) return 'too cold';
  return before === 'too hot' || before === 'too cold' ? 'within' : before;
}
