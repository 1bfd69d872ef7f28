// The usual control of a side, less its prudence: what the peer says reaches the machine alone, current is wanted for as
// long as the machine lets it, and what the machine leaves open is said as the plan has it.
import type { Reading } from '../../facts/reading.ts';
import type { MachineEvent, Send } from '../../machine/convention.ts';
import type { Numbers, Wanted } from '../../protocols/system-c/compose.ts';
import type { Control, SetPoint } from '../../simulate/control.ts';
import type { Sight } from '../../simulate/side.ts';
import type { Strategy } from '../../simulate/strategy.ts';
import type { Side as SideName } from '../../trace/observation.ts';
import type { Director } from './director.ts';
import { openFacts, picked } from './words.ts';

/** What the strategy knows of its machine, for the numbers. */
export interface Mood {
  /** The machine is being asked to stop. */
  asked: boolean;
}

type Facts = Readonly<Record<string, string>>;

export class PlannedControl implements Control {
  readonly habits: Strategy;
  readonly #usual: Control;
  readonly #side: SideName;
  readonly #director: Director;
  readonly #mood: Mood;
  #demands = 0;
  #asked_A = Infinity;

  constructor(usual: Control, side: SideName, director: Director, mood: Mood) {
    this.habits = usual.habits;
    this.#usual = usual;
    this.#side = side;
    this.#director = director;
    this.#mood = mood;
  }

  facts(type: string, at_ns: number): Facts {
    const facts = this.#usual.facts(type, at_ns);
    return facts['demand'] === undefined ? facts : { ...facts, demand: 'some' };
  }

  heard(reading: Reading): void {
    if (reading.from !== 'charger') this.#usual.heard(reading);
    else this.#usual.heard({ ...reading, notice: { kind: 'none', delay_s: 0 }, status: 'ready' });
  }

  signals(sight: Sight, at_ns: number): readonly MachineEvent[] {
    return this.#usual.signals(sight, at_ns);
  }

  overdue(at_ns: number): ReturnType<Control['overdue']> {
    return this.#usual.overdue(at_ns);
  }

  usual(send: Send): Facts {
    const facts = this.#usual.usual(send);
    const say = this.#director.message(this.#side)?.say;
    // A FAILED answer says nothing else.
    if (say === undefined || (send.code !== undefined && send.code !== 'ok')) return facts;
    return { ...facts, ...picked(openFacts(send.message), say.pick) };
  }

  numbers(wanted: Wanted, at_ns: number): Partial<Numbers> {
    const numbers = this.#usual.numbers(wanted, at_ns);
    if (wanted.message !== 'CurrentDemandReq') return numbers;
    const other = this.#director.asked(this.#demands);
    this.#demands += 1;
    const wanted_A = other?.A ?? this.#director.plan.pack.asks_A;
    // Asked to stop, each request is half of the last one, until the stop itself.
    this.#asked_A = this.#mood.asked ? Math.min(wanted_A, this.#asked_A / 2) : wanted_A;
    const targetCurrent_A = this.#asked_A;
    return {
      ...numbers,
      targetCurrent_A,
      ...(other === undefined ? {} : { targetVoltage_V: other.V }),
    };
  }

  sent(reading: Reading): void {
    this.#usual.sent(reading);
  }

  drove(what: string, to: string, at_ns: number): void {
    this.#usual.drove(what, to, at_ns);
  }

  output(): SetPoint | null {
    return this.#usual.output();
  }
}
