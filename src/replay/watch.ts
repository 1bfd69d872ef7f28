// What a replay shows to somebody who watches it step by step, such as the recorder of a report. The watcher decides
// nothing, and a replay without one costs nothing more.
import type { Extractor } from '../facts/extract.ts';
import type { Reading } from '../facts/reading.ts';
import type { MessageObservation, Observation, Side } from '../trace/observation.ts';

/** Where the sides' machines may be after a step, in words; empty where nobody follows them. */
export interface Whereabouts {
  /** `energy transfer`: one, unless the recording leaves it open. */
  stages: string[];
  /** `energy transfer: waits for CurrentDemandRes`. */
  states: string[];
  /** What the side could send next by itself: `CurrentDemandReq (at once)`. */
  next: string[];
}

export interface SessionWatcher {
  /** After each step: what was seen, what it was read as, and the extractor with the facts after it. */
  step(
    observation: Observation,
    reading: Reading,
    extractor: Extractor,
    where: Record<Side, Whereabouts>,
  ): void;
}

export interface Watcher {
  /** A session begins; ids are unique within the recording. */
  session(id: string): SessionWatcher;
  /** A message of matching or discovery, which stands before the session it leads to. */
  aside(observation: MessageObservation): void;
}
