// One parsed line → one observation, or null where trace.schema.json would refuse it. The schema is the law; this is
// its fast form, and a property test holds the two together. Why a line was refused is told by schema.ts.
import {
  ALARMS,
  CONTACTOR_STATES,
  LINK_STATES,
  LOCK_STATES,
  MAC_ADDRESS,
  NOTE_PROBLEMS,
  type ObservationOf,
  PILOT_STATES,
  PLUG_STATES,
  PROTOCOLS,
  SIDES,
  TEMPERATURE_PLACES,
  VOLTAGE_PLACES,
} from './fields.ts';
import type { JsonObject, Observation, TraceHeader } from './observation.ts';
import { nanosecondsOf, REACH_s } from './time.ts';

type Fields = Readonly<Record<string, unknown>>;

const EPOCH = /^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(?:\.\d{1,9})?Z$/;

/** The header a line holds, or null. Whether its epoch is a day of the calendar is left to the reader. */
export function headerOf(line: unknown): TraceHeader | null {
  if (!isObject(line)) return null;
  const { $schema, handfast, version, epoch, recorder, says, cells, ...others } = line;
  if (handfast !== 'trace' || version !== 1 || Object.keys(others).length > 0) return null;
  if (epoch !== null && (!isText(epoch) || !EPOCH.test(epoch))) return null;
  if ($schema !== undefined && !isText($schema)) return null;
  const header: TraceHeader = { handfast, version, epoch };
  if (recorder !== undefined) {
    if (!isText(recorder)) return null;
    header.recorder = recorder;
  }
  if (says !== undefined) {
    if (!isText(says)) return null;
    header.says = says;
  }
  if (cells !== undefined) {
    if (!isCellLimits(cells)) return null;
    header.cells = cells;
  }
  return header;
}

const CELL_LIMITS = new Set(['highest_V', 'lowest_V', 'hottest_C', 'coldest_C']);

function isCellLimits(value: unknown): value is NonNullable<TraceHeader['cells']> {
  return (
    isObject(value) &&
    Object.entries(value).every(([name, limit]) => CELL_LIMITS.has(name) && isFinite(limit))
  );
}

/** The observation a line holds, or null. */
export function observationOf(line: unknown): Observation | null {
  if (!isObject(line)) return null;
  const { at, frame, recorder } = line;
  if (typeof at !== 'number' || !(Math.abs(at) < REACH_s)) return null;
  const observation = byKind(line, nanosecondsOf(at));
  if (observation === null) return null;
  if (frame !== undefined) {
    if (!isWhole(frame) || frame < 1) return null;
    observation.frame = frame;
  }
  if (recorder !== undefined) {
    if (!isText(recorder)) return null;
    observation.recorder = recorder;
  }
  // Each field taken over is one of the line's; a field left over is one the format does not know.
  return fieldCount(observation) === fieldCount(line) ? observation : null;
}

function byKind(line: Fields, at_ns: number): Observation | null {
  switch (line.kind) {
    case 'message':
      return message(line, at_ns);
    case 'link':
      return link(line, at_ns);
    case 'pilot':
      return pilot(line, at_ns);
    case 'contactor': {
      const { side, state } = line;
      if (!isOneOf(SIDES, side) || !isOneOf(CONTACTOR_STATES, state)) return null;
      return { kind: 'contactor', at_ns, side, state };
    }
    case 'lock':
      return isOneOf(LOCK_STATES, line.state) ? { kind: 'lock', at_ns, state: line.state } : null;
    case 'plug':
      return isOneOf(PLUG_STATES, line.state) ? { kind: 'plug', at_ns, state: line.state } : null;
    case 'alarm':
      return alarm(line, at_ns);
    case 'note':
      return note(line, at_ns);
    default:
      return measurement(line, at_ns);
  }
}

function measurement(line: Fields, at_ns: number): Observation | null {
  switch (line.kind) {
    case 'voltage': {
      const { place, voltage_V } = line;
      if (!isOneOf(VOLTAGE_PLACES, place) || !isFinite(voltage_V)) return null;
      return { kind: 'voltage', at_ns, place, voltage_V };
    }
    case 'current':
      return isFinite(line.current_A)
        ? { kind: 'current', at_ns, current_A: line.current_A }
        : null;
    case 'temperature': {
      const { place, temperature_C } = line;
      if (!isOneOf(TEMPERATURE_PLACES, place) || !isFinite(temperature_C)) return null;
      return { kind: 'temperature', at_ns, place, temperature_C };
    }
    case 'cells': {
      const cells: ObservationOf<'cells'> = { kind: 'cells', at_ns };
      const { lowest_V, highest_V } = line;
      if (isFinite(lowest_V)) cells.lowest_V = lowest_V;
      if (isFinite(highest_V)) cells.highest_V = highest_V;
      return cells;
    }
    case 'isolation': {
      const { resistance_ohm, ratedVoltage_V } = line;
      if (!isFinite(resistance_ohm) || resistance_ohm < 0) return null;
      const seen: ObservationOf<'isolation'> = { kind: 'isolation', at_ns, resistance_ohm };
      if (isFinite(ratedVoltage_V) && ratedVoltage_V > 0) seen.ratedVoltage_V = ratedVoltage_V;
      return seen;
    }
    default:
      return null;
  }
}

// An optional field of the wrong type is not taken over, so that it is left over and the line refused.

function message(line: Fields, at_ns: number): ObservationOf<'message'> | null {
  const { from, name, message: content, protocol, header, link: over, sender, receiver } = line;
  if (!isOneOf(SIDES, from) || !isText(name)) return null;
  if (!isObject(content) || !isOneOf(PROTOCOLS, protocol)) return null;
  const seen: ObservationOf<'message'> = {
    kind: 'message',
    at_ns,
    from,
    name,
    message: content,
    protocol,
  };
  if (isObject(header)) seen.header = header;
  if (isText(over)) seen.link = over;
  if (isText(sender) && MAC_ADDRESS.test(sender)) seen.sender = sender;
  if (isText(receiver) && MAC_ADDRESS.test(receiver)) seen.receiver = receiver;
  return seen;
}

function link(line: Fields, at_ns: number): ObservationOf<'link'> | null {
  const { link: name, state, says, from, bytes, byte } = line;
  if (!isText(name) || !isOneOf(LINK_STATES, state) || !isText(says)) return null;
  const seen: ObservationOf<'link'> = { kind: 'link', at_ns, link: name, state, says };
  if (isOneOf(SIDES, from)) seen.from = from;
  if (isWhole(bytes)) seen.bytes = bytes;
  if (isWhole(byte)) seen.byte = byte;
  const { vehicleAddress, chargerAddress, vehicleEnd, chargerEnd } = line;
  if (isText(vehicleAddress)) seen.vehicleAddress = vehicleAddress;
  if (isText(chargerAddress)) seen.chargerAddress = chargerAddress;
  if (isText(vehicleEnd)) seen.vehicleEnd = vehicleEnd;
  if (isText(chargerEnd)) seen.chargerEnd = chargerEnd;
  return seen;
}

function pilot(line: Fields, at_ns: number): ObservationOf<'pilot'> | null {
  const { state, voltage_V, negative_V, pwm, duty_percent } = line;
  const seen: ObservationOf<'pilot'> = { kind: 'pilot', at_ns };
  if (isOneOf(PILOT_STATES, state)) seen.state = state;
  if (isFinite(voltage_V)) seen.voltage_V = voltage_V;
  if (seen.state === undefined && seen.voltage_V === undefined) return null;
  if (isFinite(negative_V)) seen.negative_V = negative_V;
  if (typeof pwm === 'boolean') seen.pwm = pwm;
  if (isFinite(duty_percent) && duty_percent >= 0 && duty_percent <= 100) {
    seen.duty_percent = duty_percent;
  }
  return seen;
}

function alarm(line: Fields, at_ns: number): ObservationOf<'alarm'> | null {
  const { side, alarm: what, says } = line;
  if (!isOneOf(SIDES, side) || !isOneOf(ALARMS, what)) return null;
  const seen: ObservationOf<'alarm'> = { kind: 'alarm', at_ns, side, alarm: what };
  if (isText(says)) seen.says = says;
  return seen;
}

function note(line: Fields, at_ns: number): ObservationOf<'note'> | null {
  const { says, problem, byte } = line;
  if (!isText(says)) return null;
  const seen: ObservationOf<'note'> = { kind: 'note', at_ns, says };
  if (isOneOf(NOTE_PROBLEMS, problem)) seen.problem = problem;
  if (isWhole(byte)) seen.byte = byte;
  return seen;
}

function isOneOf<T extends string>(values: ReadonlySet<T>, value: unknown): value is T {
  return values.has(value as T);
}

function isText(value: unknown): value is string {
  return typeof value === 'string';
}

/** JSON text can say 1e999, which is read as infinity. */
function isFinite(value: unknown): value is number {
  return Number.isFinite(value);
}

function isWhole(value: unknown): value is number {
  return Number.isSafeInteger(value) && (value as number) >= 0;
}

function isObject(value: unknown): value is JsonObject {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}

function fieldCount(value: object): number {
  let count = 0;
  for (const _field in value) count += 1;
  return count;
}
