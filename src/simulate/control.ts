// What stands between a side's machine and the real world: the sensors as facts, the amounts as numbers, set points for
// its hardware, and habits where the standard leaves a choice. vehicle-control.ts and charger-control.ts implement it.
import type { Reading } from '../facts/reading.ts';
import type { MachineEvent, Send } from '../machine/convention.ts';
import type { Numbers, Wanted } from '../protocols/system-c/compose.ts';
import type { Senses } from './senses.ts';
import type { Command, Sight } from './side.ts';
import type { Strategy } from './strategy.ts';

export type SetPoint = Omit<Extract<Command, { do: 'output' }>, 'do'>;

export interface Control {
  /** What it would usually do. */
  readonly habits: Strategy;
  /** The facts of a choice or an own sensor as the sensors say them. */
  facts(type: string, at_ns: number): Readonly<Record<string, string>>;
  /** Takes note of a message of the peer, before the machine hears of it. */
  heard(reading: Reading): void;
  /** Events past the dialogue that a sight means: a pilot change, a crash, an emergency stop. */
  signals(sight: Sight, at_ns: number): readonly MachineEvent[];
  /** Events that come of time passing: a contactor that has not opened. And when to look again. */
  overdue(at_ns: number): { events: readonly MachineEvent[]; wakeAt_ns: number | null };
  /** Facts of a message that the machine left open. */
  usual(send: Send): Readonly<Record<string, string>>;
  numbers(wanted: Wanted, at_ns: number): Partial<Numbers>;
  sent(reading: Reading): void;
  /** Takes note of a command the machine gave. */
  drove(what: string, to: string, at_ns: number): void;
  /** What the power stage is to hold; null for a side without one. */
  output(): SetPoint | null;
}

/** A control of a side, given what it senses. */
export type CreateControl = (senses: Readonly<Senses>) => Control;
