// Whether a machine may still say something, whatever happens: when it may not, its connection has no more use.
import { isLocalEvent } from '../machine/convention.ts';
import type { Stepper } from '../machine/step.ts';

/** Answers by state, remembered. */
export function createSpeech(stepper: Stepper): (state: number) => boolean {
  const messages = Object.keys(stepper.of.alphabet).filter((type) => !isLocalEvent(type));
  const known = new Map<number, boolean>();
  const says = (state: number): boolean =>
    stepper.moves(state).some(({ step }) => step.sends.length > 0) ||
    messages.some((type) =>
      stepper.answers(state, type).some(({ result }) => result.sends.length > 0),
    );
  return (state) => {
    let may = known.get(state);
    if (may === undefined) {
      may = reaches(state, says, (one) => stepper.successors(one));
      known.set(state, may);
    }
    return may;
  };
}

function reaches(
  from: number,
  goal: (state: number) => boolean,
  next: (state: number) => readonly number[],
): boolean {
  const seen = new Set([from]);
  const open = [from];
  for (let state = open.pop(); state !== undefined; state = open.pop()) {
    if (goal(state)) return true;
    for (const one of next(state)) {
      if (seen.has(one)) continue;
      seen.add(one);
      open.push(one);
    }
  }
  return false;
}
