// Observations → a trace file.
import type { Writable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { FIELD_ORDER } from './fields.ts';
import { InputError } from './input-error.ts';
import type { Observation, OpenTrace, TraceHeader } from './observation.ts';
import { REACH_ns, REACH_s, secondsText } from './time.ts';

/** The first line of a trace, without newline. */
export function headerLine(header: TraceHeader): string {
  const { handfast, version, epoch, recorder, says, cells } = header;
  return JSON.stringify({ handfast, version, epoch, recorder, says, cells });
}

/**
 * One line of a trace, without newline: `at` in seconds, exact to the nanosecond, then the fields in the order of
 * FIELD_ORDER. Throws InputError when the time is too far from the epoch to be written exactly, RangeError when a
 * number is none (JSON has no word for it).
 */
export function observationLine(observation: Observation): string {
  const { at_ns } = observation;
  if (!(Math.abs(at_ns) < REACH_ns)) throw tooFar(at_ns);
  let line = `{"at":${secondsText(at_ns)}`;
  const fields = observation as unknown as Readonly<Record<string, unknown>>;
  for (const name of FIELD_ORDER[observation.kind]) {
    const value = fields[name];
    if (value === undefined) continue;
    if (typeof value === 'number') {
      if (!Number.isFinite(value)) throw new RangeError(`${name} is ${value}`);
      line += `,"${name}":${value}`;
    } else {
      line += `,"${name}":${JSON.stringify(value)}`;
    }
  }
  return `${line}}`;
}

/** Writes a whole trace and ends `output` (never stdout); no batch is taken before the last one is taken off. */
export async function writeTrace(trace: OpenTrace, output: Writable): Promise<void> {
  await pipeline(traceText(trace), output);
}

async function* traceText(trace: OpenTrace): AsyncGenerator<string, void, void> {
  yield `${headerLine(trace.header)}\n`;
  for await (const batch of trace.observations) {
    let text = '';
    for (const observation of batch) text += `${observationLine(observation)}\n`;
    if (text !== '') yield text;
  }
}

function tooFar(at_ns: number): InputError {
  const days = Math.round(at_ns / 8.64e13);
  const what = `an observation stands ${days} days from the epoch; a trace reaches ${REACH_s} s`;
  return new InputError(what, {}, 'split the recording, or correct the clock of the recorder');
}
