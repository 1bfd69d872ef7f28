// Several recordings of one session on one clock.
import { InputError } from './input-error.ts';
import type { Observation, OpenTrace } from './observation.ts';
import { instantOf, REACH_ns, REACH_s } from './time.ts';

export interface OtherTrace {
  trace: OpenTrace;
  /**
   * What is added to this recorder's times, in whole nanoseconds: +120,000,000 (`--offset 0.12`) moves everything it
   * saw 0.12 s later, as needed when its clock runs 0.12 s behind the main recording's.
   */
  offset_ns: number;
  /** Label of its observations; one that bears a label already keeps it. */
  recorder: string;
}

/** Observations in one batch of the merged trace, at most. */
const BATCH = 4096;

/**
 * Merges recordings into the clock of `main`, whose header the result bears. An observation of another recording stands
 * at its own time + (its epoch − main's epoch, when both are known) + its offset; where an epoch is missing, both
 * recordings are taken to begin together. Each input keeps its own order; at equal times main comes first, then the
 * others in the order given. Streams: holds one batch of each recording.
 *
 * Main's observations are labelled with its header's recorder where it has one. Throws InputError when the clocks are
 * further apart than a trace reaches.
 */
export function mergeTraces(main: OpenTrace, others: OtherTrace[]): OpenTrace {
  const inputs = [
    new MergeInput(main, 0, main.header.recorder),
    ...others.map((other) => {
      return new MergeInput(other.trace, shiftOf(main, other), other.recorder);
    }),
  ];
  return { header: main.header, observations: merged(inputs) };
}

function shiftOf(main: OpenTrace, { trace, offset_ns, recorder }: OtherTrace): number {
  const mainEpoch_ns = main.header.epoch === null ? null : instantOf(main.header.epoch);
  const epoch_ns = trace.header.epoch === null ? null : instantOf(trace.header.epoch);
  const apart_ns = mainEpoch_ns === null || epoch_ns === null ? 0n : epoch_ns - mainEpoch_ns;
  const shift_ns = Number(apart_ns) + offset_ns;
  if (Math.abs(shift_ns) < REACH_ns) return shift_ns;
  const days = Math.round(shift_ns / 8.64e13);
  const what = `${recorder} began ${days} days from the main recording, a trace reaches ${REACH_s} s`;
  throw new InputError(what, {}, 'check the clocks of both recorders, and the offset');
}

class MergeInput {
  /** The next observation on main's clock; undefined at the end. */
  head: Observation | undefined;
  private readonly iterator: AsyncIterator<Observation[]>;
  private readonly shift_ns: number;
  private readonly recorder: string | undefined;
  private batch: Observation[] = [];
  private index = 0;

  constructor(trace: OpenTrace, shift_ns: number, recorder: string | undefined) {
    this.iterator = trace.observations[Symbol.asyncIterator]();
    this.shift_ns = shift_ns;
    this.recorder = recorder;
  }

  /** Takes the next observation of the batch at hand into `head`; false when a new batch must be awaited. */
  step(): boolean {
    const next = this.batch[this.index];
    if (next === undefined) return false;
    this.index += 1;
    this.head = this.placed(next);
    return true;
  }

  async refill(): Promise<void> {
    this.head = undefined;
    do {
      const next = await this.iterator.next();
      if (next.done) return;
      this.batch = next.value;
      this.index = 0;
    } while (!this.step());
  }

  async close(): Promise<void> {
    await this.iterator.return?.();
  }

  private placed(observation: Observation): Observation {
    const recorder = observation.recorder ?? this.recorder;
    if (this.shift_ns === 0 && recorder === observation.recorder) return observation;
    const placed = { ...observation, at_ns: observation.at_ns + this.shift_ns };
    if (recorder !== undefined) placed.recorder = recorder;
    return placed;
  }
}

async function* merged(inputs: MergeInput[]): AsyncGenerator<Observation[], void, void> {
  try {
    for (const input of inputs) await input.refill();
    let batch: Observation[] = [];
    for (let next = earliest(inputs); next !== undefined; next = earliest(inputs)) {
      batch.push(next.head!);
      if (batch.length >= BATCH) {
        yield batch;
        batch = [];
      }
      if (!next.step()) await next.refill();
    }
    if (batch.length > 0) yield batch;
  } finally {
    for (const input of inputs) await input.close();
  }
}

function earliest(inputs: MergeInput[]): MergeInput | undefined {
  let first: MergeInput | undefined;
  for (const input of inputs) {
    if (input.head === undefined) continue;
    if (first === undefined || input.head.at_ns < first.head!.at_ns) first = input;
  }
  return first;
}
