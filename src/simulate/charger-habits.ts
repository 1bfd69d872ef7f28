// What a charger usually does where it has a choice: answer in time, take the time its test and its authorization need.
import type { ChargerMind } from './charger-settings.ts';
import type { Choice, Situation, Strategy } from './strategy.ts';

export function chargerHabits(mind: ChargerMind): Strategy {
  return { choose: (situation) => choose(mind, situation) };
}

function choose(mind: ChargerMind, situation: Situation): Choice | null {
  const { can, at_ns, since_ns, random, senses } = situation;
  const ready = senses.pilot === 'C' || senses.pilot === 'D';
  // The pilot may have come to C before the request that asks for it to be looked at.
  if (ready && can('sense.pilot')) return { type: 'sense.pilot', at_ns };
  if (senses.link !== 'open') return null;
  const { answerFrom_ms, answerTo_ms } = mind.settings.times;
  const wait_ms = answerFrom_ms + random * (answerTo_ms - answerFrom_ms);
  const due_ns = Math.max(at_ns, since_ns + Math.round(wait_ms * 1e3) * 1e3);
  for (const type of preferred(mind, situation, due_ns)) {
    if (can(type)) return { type, at_ns: due_ns };
  }
  return null;
}

function preferred(mind: ChargerMind, { state }: Situation, at_ns: number): readonly string[] {
  const { authorization_ms, isolationTest_ms } = mind.settings.times;
  const rest = ['choose.answer', 'choose.ongoing', 'choose.refuse', 'choose.fail'];
  if (state.stage === 'cable check') {
    const since_ns = mind.testing_ns;
    const tested = since_ns !== null && at_ns - since_ns >= isolationTest_ms * 1e6;
    return tested ? ['choose.finish test', ...rest] : rest;
  }
  const asked_ns = mind.authorizing_ns;
  const waits = asked_ns !== null && at_ns - asked_ns < authorization_ms * 1e6;
  return waits ? ['choose.ongoing', ...rest] : rest;
}
