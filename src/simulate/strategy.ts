// What a side does where the standard leaves it a choice. A strategy is a pure function of the situation, asked again
// whenever something was seen; chance comes in through the situation's own number, drawn once for every state entered.
import type { StateView } from '../machine/step.ts';
import type { Senses } from './senses.ts';

export interface Situation {
  readonly at_ns: number;
  /** When the machine came to its state. */
  readonly since_ns: number;
  readonly state: StateView;
  readonly senses: Readonly<Senses>;
  /** From 0 to below 1. */
  readonly random: number;
  /** Whether the state takes a choice or an own sensor, with the facts as they stand now. */
  can(type: string): boolean;
  /** Every one it takes now. */
  options(): string[];
}

export interface Choice {
  readonly type: string;
  readonly at_ns: number;
  /** Facts of the choice that are not to be what the sensors say. */
  readonly facts?: Readonly<Record<string, string>>;
}

export interface Strategy {
  /** The next own move and its time, at once or later; null waits for something to be seen. */
  choose(situation: Situation): Choice | null;
}

/** A choice made at a time of its own in place of what the strategy would choose. */
export interface ScriptedChoice {
  readonly at_ns: number;
  readonly type: string;
}

/** `usual`, but each scripted choice is made once, as soon after its time as the state takes it. */
export function scripted(usual: Strategy, script: readonly ScriptedChoice[]): Strategy {
  const waiting = script.toSorted((a, b) => a.at_ns - b.at_ns);
  return {
    choose(situation) {
      const { at_ns } = situation;
      const now = waiting.findIndex((one) => one.at_ns <= at_ns && situation.can(one.type));
      if (now >= 0) {
        const [{ type }] = waiting.splice(now, 1) as [ScriptedChoice];
        return { type, at_ns };
      }
      const next = waiting.find((one) => one.at_ns > at_ns && situation.can(one.type));
      const choice = usual.choose(situation);
      if (next === undefined || (choice !== null && choice.at_ns <= next.at_ns)) return choice;
      // Nothing happens at that time by itself: the side asks to be woken.
      return { type: next.type, at_ns: next.at_ns };
    },
  };
}

/** Any option the state takes, after a time up to `slowest_ms`; the same number chooses both. */
export function anything(slowest_ms: number): Strategy {
  return {
    choose({ options, random, since_ns, at_ns }) {
      const open = options();
      if (open.length === 0) return null;
      const place = random * open.length;
      const type = open[Math.floor(place)]!;
      const wait_ns = Math.round((place % 1) * slowest_ms * 1e6);
      return { type, at_ns: Math.max(at_ns, since_ns + wait_ns) };
    },
  };
}
