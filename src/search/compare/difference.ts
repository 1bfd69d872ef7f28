// The shortest sequence of events on which two versions of a machine answer differently: both tables side by side,
// breadth first over the pairs of states they reach together, with the times their timers may show, so that no timer
// fires that another one always comes before. When no pair is left they are equivalent: a bisimulation.
import type { MachineTable } from '../../machine/table.ts';
import { Answers, differing, type Differing, type TableAnswer } from './answers.ts';
import { jointInputs, type JointInput, type JointInputs } from './joint-inputs.ts';
import { tellingWords } from './telling.ts';
import { answerWords, stateWords, type AnswerWords } from './words.ts';
import { carried, firing, startZone, wait, within, type Zone } from './zone.ts';

/** One event and what both did on it alike. */
interface AgreedStep {
  readonly event: string;
  readonly answer: AnswerWords;
}

export interface Difference {
  /** The way there: a shortest one. */
  readonly steps: readonly AgreedStep[];
  /** The event on which they differ; null for what they do before any. */
  readonly event: string | null;
  readonly in: readonly Differing[];
  readonly before: AnswerWords;
  readonly after: AnswerWords;
}

export interface Behaviour {
  /** `equivalent` only after a complete search, and only where both can be given the same events. */
  readonly verdict: 'equivalent' | 'different' | 'inconclusive';
  readonly difference: Difference | null;
  /** Values of facts that only one of both knows. */
  readonly unshared: readonly string[];
  /** Pairs of states compared, each with the times its timers may show. */
  readonly pairs: number;
}

/** Pairs of states, and of times, that may be looked at before the search gives up. */
const MAXIMUM_PAIRS = 2_000_000;

interface Pair {
  readonly before: number;
  readonly after: number;
  readonly lengths_ms: readonly number[];
  readonly timers: { readonly before: readonly number[]; readonly after: readonly number[] };
  readonly zone: Zone;
  readonly parent: Pair | null;
  readonly event: Event;
  readonly answer: TableAnswer;
}

/** What leads from one pair to the next: an event, a timer that runs out, or the start. */
type Event = JointInput | string | null;

/** Compares two tables of one side. `most` bounds the pairs. */
export function compareBehaviour(
  before: MachineTable,
  after: MachineTable,
  most = MAXIMUM_PAIRS,
): Behaviour {
  return new PairSearch(before, after, most).run();
}

class PairSearch {
  private readonly before: Answers;
  private readonly after: Answers;
  private readonly most: number;
  private readonly joint: JointInputs;
  private readonly queue: Pair[] = [];
  private readonly zones = new Map<number, Zone[]>();

  constructor(before: MachineTable, after: MachineTable, most: number) {
    this.before = new Answers(before);
    this.after = new Answers(after);
    this.most = most;
    this.joint = jointInputs(before, after);
  }

  run(): Behaviour {
    const difference = this.search();
    const { unshared } = this.joint;
    const complete = this.queue.length <= this.most;
    const verdict =
      difference !== null || unshared.length > 0
        ? 'different'
        : complete
          ? 'equivalent'
          : 'inconclusive';
    return { verdict, difference, unshared, pairs: this.queue.length };
  }

  private search(): Difference | null {
    const first = this.visit(null, null, this.before.first(), this.after.first(), null);
    if (first !== null) return first;
    // The queue grows while it is walked.
    for (const pair of this.queue) {
      if (this.queue.length > this.most) return null;
      const found = this.expand(pair);
      if (found !== null) return found;
    }
    return null;
  }

  private expand(pair: Pair): Difference | null {
    const later = wait(pair.zone, pair.lengths_ms);
    for (const input of this.joint.inputs) {
      const ofBefore = this.before.to(pair.before, input.before);
      const ofAfter = this.after.to(pair.after, input.after);
      const found = this.visit(pair, input, ofBefore, ofAfter, later);
      if (found !== null) return found;
    }
    for (const [index, length_ms] of pair.lengths_ms.entries()) {
      const now = firing(later, index, length_ms);
      if (now === null) continue;
      const { table } = this.before;
      const timer = table.timers[pair.timers.before[index]!]!;
      const other = this.after.table.timers[pair.timers.after[index]!]!;
      const ofBefore = this.before.to(pair.before, timer.input);
      const ofAfter = this.after.to(pair.after, other.input);
      const says = `${timer.name} of ${length_ms / 1000} s runs out`;
      const found = this.visit(pair, says, ofBefore, ofAfter, now);
      if (found !== null) return found;
    }
    return null;
  }

  /** Keeps the pair an event leads to, or tells how the answers differ. `zone`: the times at the event. */
  private visit(
    parent: Pair | null,
    event: Event,
    before: TableAnswer,
    after: TableAnswer,
    zone: Zone | null,
  ): Difference | null {
    const differs = differing(before, after);
    if (differs.length > 0) return this.told(parent, event, differs, before, after);
    const next =
      zone === null
        ? startZone(before.timers.length)
        : carried(
            zone,
            before.timers.map(({ from }) => from),
          );
    const key = before.state * this.after.table.states.length + after.state;
    const known = this.zones.get(key);
    if (known?.some((other) => within(next, other)) === true) return null;
    if (known === undefined) this.zones.set(key, [next]);
    else known.push(next);
    this.queue.push({
      before: before.state,
      after: after.state,
      lengths_ms: before.timers.map(({ ms }) => ms),
      timers: {
        before: before.timers.map(({ timer }) => timer),
        after: after.timers.map(({ timer }) => timer),
      },
      zone: next,
      parent,
      event,
      answer: before,
    });
    return null;
  }

  private told(
    parent: Pair | null,
    event: Event,
    differs: readonly Differing[],
    before: TableAnswer,
    after: TableAnswer,
  ): Difference {
    const steps: AgreedStep[] = [];
    for (let pair = parent; pair !== null && pair.parent !== null; pair = pair.parent) {
      const words = answerWords(pair.answer, stateWords(this.before.table, pair.before));
      steps.unshift({ event: this.words(pair.parent, pair.event), answer: words });
    }
    return {
      steps,
      event: parent === null ? null : this.words(parent, event),
      in: differs,
      before: answerWords(before, stateWords(this.before.table, before.state)),
      after: answerWords(after, stateWords(this.after.table, after.state)),
    };
  }

  private words(parent: Pair, event: Event): string {
    if (event === null || typeof event === 'string') return event ?? '';
    return tellingWords(event, this.joint.read.get(event.type)!, {
      answers: { before: this.before, after: this.after },
      states: parent,
    });
  }
}
