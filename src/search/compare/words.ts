// Answers of a machine in words.
import type { Drive, Send } from '../../machine/convention.ts';
import type { MachineTable } from '../../machine/table.ts';
import type { TableAnswer } from './answers.ts';

export interface AnswerWords {
  /** Where the machine is then: `transfer.running.waits (energy transfer: waits for CurrentDemandRes)`. */
  readonly state: string;
  readonly sends: readonly string[];
  readonly drives: readonly string[];
  readonly timers: readonly string[];
}

export function answerWords({ sends, drives, timers }: TableAnswer, state: string): AnswerWords {
  return {
    state,
    sends: sends.map(sendWords),
    drives: drives.map(driveWords),
    timers: timers.map(
      ({ name, ms, from }) => `${name} of ${ms / 1000} s ${from < 0 ? 'starts' : 'goes on'}`,
    ),
  };
}

export function stateWords({ states }: MachineTable, state: number): string {
  const { leaves, stage, says } = states[state]!;
  const doing = [stage, says].filter((words) => words !== '').join(': ');
  return `${leaves.join(' + ')}${doing === '' ? '' : ` (${doing})`}`;
}

function sendWords({ message, ...facts }: Send): string {
  return `${message}${withFacts(facts)}`;
}

function driveWords({ what, to }: Drive): string {
  return `${what} ${to}`;
}

/** ` with demand some, ready yes`; nothing for no facts. That a session is the right one goes without saying. */
export function withFacts(facts: { readonly [fact: string]: string }): string {
  const words = Object.entries(facts)
    .filter(([fact, value]) => fact !== 'session' || value !== 'this')
    .map(([fact, value]) => `${fact} ${value}`);
  return words.length === 0 ? '' : ` with ${words.join(', ')}`;
}
