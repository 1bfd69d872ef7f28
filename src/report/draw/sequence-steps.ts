// What happened in a session, step by step, as a message sequence needs it: messages in one line each, and what other
// recorders saw. Taken down while the recording is replayed.
import type { Reading } from '../../facts/reading.ts';
import { digest } from '../../protocols/system-c/digest.ts';
import type { SessionWatcher, Watcher } from '../../replay/watch.ts';
import type { Observation, Side } from '../../trace/observation.ts';

export interface SequenceStep {
  /** Seconds from the file's epoch. */
  readonly at: number;
  readonly frame: number | null;
  /** Who sends it; null for what is no message. */
  readonly from: Side | null;
  /** Name of the message; empty for what is none. */
  readonly name: string;
  /** `asks 180 A at 400 V`, `contactor of the vehicle closed`. */
  readonly says: string;
}

/** A drawing of a longer session would not be looked at to its end; what is beyond is counted. */
const STEPS_AT_MOST = 200_000;

export interface RecordedSequence {
  readonly steps: SequenceStep[];
  /** Messages and events beyond those kept. */
  omitted: number;
}

/** Takes the steps of every session of a recording, by the session's id. */
export class SequenceRecorder implements Watcher {
  readonly sessions = new Map<string, RecordedSequence>();

  session(id: string): SessionWatcher {
    const recorded: RecordedSequence = { steps: [], omitted: 0 };
    this.sessions.set(id, recorded);
    return {
      step(observation: Observation, reading: Reading): void {
        if (recorded.steps.length >= STEPS_AT_MOST) recorded.omitted += 1;
        else {
          const step = stepOf(observation, reading);
          if (step !== null) recorded.steps.push(step);
        }
      },
    };
  }

  /** Matching and discovery are told in the session's head. */
  aside(): void {}
}

function stepOf(observation: Observation, reading: Reading): SequenceStep | null {
  const { at_ns, frame = null } = observation;
  const common = { at: at_ns / 1e9, frame };
  if (observation.kind === 'message') {
    const { from, name } = observation;
    return { ...common, from, name, says: digest(reading) };
  }
  const says = eventWords(observation);
  return says === null ? null : { ...common, from: null, name: '', says };
}

/** What changes only now and then; null for figures, which belong into a chart. */
function eventWords(seen: Observation): string | null {
  switch (seen.kind) {
    case 'pilot':
      if (seen.state !== undefined) return `pilot ${seen.state}${seen.pwm === true ? '2' : ''}`;
      return seen.voltage_V === undefined ? null : `pilot at ${seen.voltage_V} V`;
    case 'contactor':
      return `contactor of the ${seen.side} ${seen.state}`;
    case 'lock':
      return `connector ${seen.state}`;
    case 'plug':
      return `plug ${seen.state}`;
    case 'alarm':
      return `${seen.side}: ${seen.alarm}${seen.says === undefined ? '' : `, ${seen.says}`}`;
    case 'link':
      return `connection ${seen.state}: ${seen.says}`;
    case 'note':
      return seen.says;
    default:
      return null;
  }
}
