// How the states of a machine answer one type of event. States that tell its valuations apart in the same way share a
// shape, and only shapes are compared when valuations are put into classes.
import type { Answer } from './answers.ts';
import type { Step } from './step.ts';
import type { Shape } from './table-inputs.ts';
import type { Outputs } from './table-outputs.ts';

interface Row {
  readonly shape: number;
  /** The steps, by the shape's results. */
  readonly steps: readonly Step[];
}

export class Shapes {
  readonly shapes: Shape[] = [];
  /** One for each state in order; null when it takes no notice of the event. */
  readonly rows: (Row | null)[] = [];
  private readonly known = new Map<string, number>();
  private readonly outputs: Outputs;

  constructor(outputs: Outputs) {
    this.outputs = outputs;
  }

  addIgnored(): void {
    this.rows.push(null);
  }

  /** The answers of the next state. Returns the steps they take. */
  add(answers: readonly Answer<Step>[]): readonly Step[] {
    const { steps, results } = this.numbered(answers);
    // A state that answers everything alike tells nothing apart, whatever its guards read on the way.
    const shape = steps.length === 1 ? NOTHING_READ : { answers: results };
    const key = keyOf(shape);
    let id = this.known.get(key);
    if (id === undefined) {
      this.known.set(key, (id = this.shapes.length));
      this.shapes.push(shape);
    }
    this.rows.push({ shape: id, steps });
    return steps;
  }

  /** The different steps, and each answer with the number of its step. */
  private numbered(answers: readonly Answer<Step>[]): { steps: Step[]; results: Shape['answers'] } {
    const steps: Step[] = [];
    const results = answers.map(({ readings, result: step }) => {
      const same = steps.findIndex(
        (other) =>
          other === step ||
          (other.next === step.next && this.outputs.idOf(other) === this.outputs.idOf(step)),
      );
      return { readings, result: same >= 0 ? same : steps.push(step) - 1 };
    });
    return { steps, results };
  }
}

const NOTHING_READ: Shape = { answers: [{ readings: new Map(), result: 0 }] };

/** Lengths before the words keep two shapes from having one key, whatever the words hold. */
function keyOf({ answers }: Shape): string {
  let key = '';
  for (const { readings, result } of answers) {
    key += `${result}`;
    for (const [fact, value] of readings) key += `\n${fact.length} ${value.length} ${fact}${value}`;
    key += '\n\n';
  }
  return key;
}
