// Where every layer puts its observations. They leave in the order of their frames: while some connection
// waits for a segment, what came after it is held back, for a message found late belongs before it.
import type { Observation } from '../trace/observation.ts';
import type { Problem } from './capture/packet.ts';

/** How often problems that differ in their numbers alone are told one by one. */
const TOLD_ONE_BY_ONE = 5;
/** A hostile capture must not fill the memory with kinds of problems. */
const MAX_KINDS = 1000;

export interface ProblemCount {
  problem: Problem['problem'];
  /** As first told. */
  says: string;
  count: number;
  /** Of the first, where known. */
  frame?: number;
}

interface Held {
  frame: number;
  observation: Observation;
}

export class Outbox {
  /** Time of the packet being read. */
  now_ns = 0;
  /** Number of the packet being read. */
  frame = 0;
  messages = 0;
  #ready: Observation[] = [];
  #held: Held[] = [];
  #heldFrom = Infinity;
  #kinds = new Map<string, ProblemCount>();

  get heldCount(): number {
    return this.#held.length;
  }

  put(observation: Observation): void {
    if (observation.kind === 'message') this.messages += 1;
    if (this.#heldFrom !== Infinity) {
      this.#held.push({ frame: observation.frame ?? this.frame, observation });
    } else {
      this.#ready.push(observation);
    }
  }

  /** Tells a fault of the recording, the sixth and further of its kind only in `tellRest`. */
  problem(problem: Problem): void {
    const kind = `${problem.problem} ${problem.says.replaceAll(/\d+/g, '#')}`;
    const counted = this.#kinds.get(kind);
    if (counted !== undefined) counted.count += 1;
    else if (this.#kinds.size < MAX_KINDS) {
      const { byte: _, ...first } = problem;
      this.#kinds.set(kind, { ...first, count: 1 });
    } else return;
    if (counted !== undefined && counted.count > TOLD_ONE_BY_ONE) return;
    this.put({ kind: 'note', at_ns: this.now_ns, ...problem });
  }

  /** Tells how many problems of each kind were left out. */
  tellRest(): void {
    for (const { problem, says, count } of this.#kinds.values()) {
      if (count <= TOLD_ONE_BY_ONE) continue;
      const left = count - TOLD_ONE_BY_ONE;
      this.put({
        kind: 'note',
        at_ns: this.now_ns,
        problem,
        says: `and ${left} more like this: ${says}`,
      });
    }
  }

  problems(): ProblemCount[] {
    return [...this.#kinds.values()];
  }

  /** Holds back what belongs to `frame` or later; Infinity lets everything go. */
  holdFrom(frame: number): void {
    if (frame === this.#heldFrom) return;
    this.#heldFrom = frame;
    if (this.#held.length === 0) return;
    this.#held.sort((left, right) => left.frame - right.frame);
    let released = 0;
    while (released < this.#held.length && this.#held[released]!.frame < frame) {
      this.#ready.push(this.#held[released]!.observation);
      released += 1;
    }
    this.#held = this.#held.slice(released);
  }

  take(): Observation[] {
    const batch = this.#ready;
    this.#ready = [];
    return batch;
  }
}
