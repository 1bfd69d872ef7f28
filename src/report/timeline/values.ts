// Which figures one observation adds to the chart, and what the facts are called there.
import type { Extractor } from '../../facts/extract.ts';
import type { Reading } from '../../facts/reading.ts';
import type { Facts } from '../../facts/vocabulary.ts';
import type { Whereabouts } from '../../replay/watch.ts';
import type { Observation, Side } from '../../trace/observation.ts';
import type { LaneName, SeriesName } from './timeline.ts';

export function* seriesValues(
  observation: Observation,
  reading: Reading,
  { electrical }: Extractor,
): Generator<[SeriesName, number]> {
  if (observation.kind === 'message') yield* messageValues(reading);
  else yield* recordedValues(observation);
  const { output, current } = electrical;
  if (current?.at_ns === reading.at_ns && output !== null) {
    yield ['power', Math.round(output.value * current.value) / 1000];
  }
}

function* messageValues(reading: Reading): Generator<[SeriesName, number]> {
  const { targetVoltage_V, targetCurrent_A, presentVoltage_V, presentCurrent_A } = reading;
  if (targetVoltage_V !== undefined) yield ['askedVoltage', targetVoltage_V];
  if (targetCurrent_A !== undefined) yield ['askedCurrent', targetCurrent_A];
  if (presentVoltage_V !== undefined) yield ['presentVoltage', presentVoltage_V];
  if (presentCurrent_A !== undefined) yield ['presentCurrent', presentCurrent_A];
  if (reading.stateOfCharge_percent !== undefined) {
    yield ['stateOfCharge', reading.stateOfCharge_percent];
  }
  const { limits } = reading;
  if (limits === undefined) return;
  const side = reading.request === true ? 'vehicle' : 'charger';
  const { voltage_V, current_A, power_W } = limits;
  if (voltage_V !== undefined) yield [`${side}VoltageLimit`, voltage_V];
  if (current_A !== undefined) yield [`${side}CurrentLimit`, current_A];
  if (power_W !== undefined) yield [`${side}PowerLimit`, power_W / 1000];
}

function* recordedValues(seen: Observation): Generator<[SeriesName, number]> {
  switch (seen.kind) {
    case 'voltage':
      yield [`${seen.place}Voltage`, seen.voltage_V];
      return;
    case 'current':
      yield ['measuredCurrent', seen.current_A];
      return;
    case 'isolation':
      yield ['isolation', seen.resistance_ohm / 1000];
      return;
    case 'temperature':
      yield [seen.place, seen.temperature_C];
      return;
    case 'cells':
      if (seen.lowest_V !== undefined) yield ['lowestCell', seen.lowest_V];
      if (seen.highest_V !== undefined) yield ['highestCell', seen.highest_V];
      return;
    default:
  }
}

/** What the facts are after a step; `unknown` is told only of what was known before. */
export function* laneWords(
  { facts, electrical }: Extractor,
  where: Record<Side, Whereabouts>,
): Generator<[LaneName, string]> {
  for (const side of ['vehicle', 'charger'] as const) {
    const { stages } = where[side];
    // Where everything is possible, naming it says nothing.
    if (stages.length > 0) yield [`${side}Stage`, stages.length > 3 ? 'any' : stages.join(' or ')];
  }
  yield ['vehicleConsent', facts.vehicleConsent];
  yield ['chargerConsent', facts.chargerConsent];
  yield ['isolation', facts.isolation];
  yield ['pilot', facts.pilot];
  yield ['vehicleContactor', contactorWord(facts, electrical.contactorEvidence)];
  yield ['chargerContactor', facts.chargerContactor];
  yield ['lock', lockWords[facts.locked]];
}

const lockWords = { yes: 'locked', no: 'unlocked', unknown: 'unknown' } as const;

function contactorWord({ vehicleContactor }: Facts, evidence: 'measured' | 'inferred'): string {
  return vehicleContactor === 'unknown' || evidence === 'measured'
    ? vehicleContactor
    : `${vehicleContactor} (inferred)`;
}
