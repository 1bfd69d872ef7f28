// An event of a counterexample in as few words as tell it: facts that make no difference there are left out.
import type { Answers } from './answers.ts';
import { jointInput, valuations, type JointFact, type JointInput } from './joint-inputs.ts';
import { withFacts } from './words.ts';

interface Place {
  readonly answers: { readonly before: Answers; readonly after: Answers };
  readonly states: { readonly before: number; readonly after: number };
}

/** The event by its type and the facts without which one of both machines could answer otherwise in these states. */
export function tellingWords(
  { type, facts }: JointInput,
  read: readonly JointFact[],
  place: Place,
): string {
  const wanted = answerKey(jointInput(...tablesOf(place), type, facts), place);
  let kept = Object.keys(facts);
  for (const fact of Object.keys(facts)) {
    const fewer = kept.filter((other) => other !== fact);
    const open = read.map((one) =>
      fewer.includes(one.fact) ? { fact: one.fact, values: [facts[one.fact]!] } : one,
    );
    if (allAnswer(wanted, type, open, place)) kept = fewer;
  }
  return `${type}${withFacts(Object.fromEntries(kept.map((fact) => [fact, facts[fact]!])))}`;
}

function allAnswer(
  wanted: string,
  type: string,
  facts: readonly JointFact[],
  place: Place,
): boolean {
  for (const one of valuations(type, facts)) {
    if (answerKey(jointInput(...tablesOf(place), type, one), place) !== wanted) return false;
  }
  return true;
}

const tablesOf = ({ answers }: Place) => [answers.before.table, answers.after.table] as const;

/** Answers are remembered, so equal ones of one state are one object; numbers tell them apart. */
function answerKey({ before, after }: JointInput, { answers, states }: Place): string {
  return `${answers.before.keyTo(states.before, before)} ${answers.after.keyTo(states.after, after)}`;
}
