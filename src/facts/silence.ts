// Who keeps whom waiting. A peer silent past its timeout has withdrawn its consent: the other must act on it.
// Performance times are the station's own; on a capture the vehicle's timeouts are judged (ISO 15118-2, 8.7).
import { openingCurrentError_A, silenceWhileFlowing_s } from './figures.ts';
import { alive, currentLives_ns, type MarginSample, type Measured } from './evidence.ts';
import type { Reading } from './reading.ts';
import type { Act, Facts } from './vocabulary.ts';

/** A recorder stands beside the vehicle, not in it: what it times may be off by this much. */
const recorderDoubt_ns = 50_000_000;

export interface Pending {
  name: string;
  act: Act | null;
  at_ns: number;
  frame: number | null;
  timeout_ns: number;
}

export interface SilenceTold {
  /** How long the silence lasted and how long was allowed, in nanoseconds. */
  lasted_ns: number;
  allowed_ns: number;
  sinceFrame: number | null;
  /** The answer came, but too late to count. */
  late: boolean;
  after: string;
}

export class Silence {
  /** How long the vehicle waits for the answer to a request, in nanoseconds. */
  readonly #timeout_ns: (request: string) => number;
  pending: Pending | null = null;
  silent: Facts['silent'] = 'nobody';
  told: SilenceTold | null = null;
  /** This answer came after the vehicle's timeout, by however little. */
  lateAnswer: SilenceTold | null = null;
  readonly margins: MarginSample[] = [];
  #tooLate: SilenceTold | null = null;
  /** The vehicle's turn: since its last request, or the answer to it. */
  #turn: { at_ns: number; frame: number | null; after: string; flowing: boolean } | null = null;
  #gap: SilenceTold | null = null;

  constructor(timeout_ns: (request: string) => number) {
    this.#timeout_ns = timeout_ns;
  }

  step(reading: Reading, act: Act | null, current: Measured | null): void {
    if (this.margins.length > 0) this.margins.length = 0;
    this.silent = 'nobody';
    this.lateAnswer = null;
    if (reading.link !== undefined) this.forget();
    if (reading.request === true) this.#request(reading, act, current);
    else if (reading.request === false) this.#response(reading, current);
    this.#flowing(reading, current);
  }

  /** A gap or a closed link: nobody can be blamed for what was not seen. */
  forget(): void {
    this.pending = null;
    this.#tooLate = null;
    this.#turn = null;
    this.#gap = null;
  }

  #request(reading: Reading, act: Act | null, current: Measured | null): void {
    const { at_ns, frame, name } = reading;
    const asksOn = act === 'approach' || act === 'power' || act === 'demand';
    const unanswered = this.pending;
    const waited_ns = unanswered === null ? 0 : at_ns - unanswered.at_ns;
    const expired = unanswered !== null && waited_ns > unanswered.timeout_ns + recorderDoubt_ns;
    const told = expired ? silenceOf(unanswered, waited_ns, false) : this.#tooLate;
    if (told !== null && asksOn) {
      this.silent = 'charger';
      this.told = told;
      this.#margin(reading, told.lasted_ns, told.allowed_ns);
    }
    this.#tooLate = null;
    this.#gap = this.#vehicleGap(at_ns);
    this.pending = { name, act, at_ns, frame, timeout_ns: this.#timeout_ns(name) };
    this.#takeTurn(reading, current);
  }

  /** Waiting for an answer is no silence: the vehicle's time runs from the last message of either side. */
  #takeTurn({ at_ns, frame, name }: Reading, current: Measured | null): void {
    const known = alive(current, at_ns, currentLives_ns);
    const flowing = known !== null && known.value > openingCurrentError_A.value;
    this.#turn = { at_ns, frame, after: name, flowing };
  }

  /** `flows`: a meter shows current now, whatever flowed at the last message. */
  #vehicleGap(at_ns: number, flows = false): SilenceTold | null {
    const last = this.#turn;
    // A vehicle that waits for its answer is not silent: it may wait for as long as its timer runs.
    const waits_ns = this.pending?.timeout_ns ?? 0;
    const allowed_ns = Math.max(silenceWhileFlowing_s.value * 1e9, waits_ns);
    if (last === null || !(flows || last.flowing)) return null;
    if (at_ns - last.at_ns <= allowed_ns) return null;
    return {
      lasted_ns: at_ns - last.at_ns,
      allowed_ns,
      sinceFrame: last.frame,
      late: false,
      after: last.after,
    };
  }

  #response(reading: Reading, current: Measured | null): void {
    const { pending } = this;
    if (pending === null || pending.name.slice(0, -3) !== reading.name.slice(0, -3)) return;
    const waited_ns = reading.at_ns - pending.at_ns;
    // A demand answered after its 0.25 s but within a second is a matter of performance, not of safety.
    const bound_ns = Math.max(pending.timeout_ns, silenceWhileFlowing_s.value * 1e9);
    if (waited_ns > bound_ns + recorderDoubt_ns) {
      this.#tooLate = silenceOf(pending, waited_ns, true);
    }
    if (waited_ns > pending.timeout_ns + recorderDoubt_ns) {
      this.lateAnswer = silenceOf(pending, waited_ns, true);
    }
    this.#margin(reading, waited_ns, pending.timeout_ns);
    this.#takeTurn(reading, current);
    this.pending = null;
  }

  #margin({ at_ns, frame }: Reading, waited_ns: number, allowed_ns: number): void {
    const [value, limit] = [waited_ns / 1e9, allowed_ns / 1e9];
    this.margins.push({ rule: 'silence-is-no', value, limit, unit: 's', at_ns, frame });
  }

  /** Current that still flows after the vehicle was silent too long is the charger's breach. */
  #flowing(reading: Reading, current: Measured | null): void {
    if (current === null || current.at_ns !== reading.at_ns) return;
    if (current.value <= openingCurrentError_A.value) return;
    const metered = reading.observed !== undefined;
    const gap = this.#gap ?? this.#vehicleGap(reading.at_ns, metered);
    this.#gap = null;
    if (gap === null || reading.request === true) return;
    this.silent = 'vehicle';
    this.told = gap;
  }
}

function silenceOf(pending: Pending, waited_ns: number, late: boolean): SilenceTold {
  return {
    lasted_ns: waited_ns,
    allowed_ns: pending.timeout_ns,
    sinceFrame: pending.frame,
    late,
    after: pending.name,
  };
}
