// Duties to stop, running: armed by a trigger, then judged sample by sample. A deadline passes unjudged (`unobserved`)
// when no sample after it tells; a sample after it that still shows the old current is a breach whenever it comes.
import type { Side } from '../trace/observation.ts';
import { alive, currentLives_ns, measured, type MarginSample, type Measured } from './evidence.ts';
import { currentError_A } from './electrical.ts';
import { dutyTable, fall_s, type DutyKind } from './duty-table.ts';
import {
  highestCurrent_A,
  liveVoltage_V,
  openingCurrentError_A,
  reportedVoltageError_V,
} from './figures.ts';
import type { Reading } from './reading.ts';
import type { Act, Duty } from './vocabulary.ts';

/** One duty with what has become of it on either side. */
export interface RunningDuty {
  kind: DutyKind;
  /** The trigger in words, for telling. */
  trigger: string;
  armed_ns: number;
  armedFrame: number | null;
  /** Announced delay before the duty starts (NotificationMaxDelay). */
  delay_ns: number;
  /** Current (or output voltage, where that must come down) and request when the trigger was seen. */
  output: Measured | null;
  /** How long after the duty started that was first seen; 0 where it was known. */
  unseenFor_ns: number;
  asked_A: number | null;
  /** What each sample says so far. */
  vehicleSeen: Duty;
  chargerSeen: Duty;
  /** What stands: a duty of both sides is told once, when both are known. */
  vehicle: Duty;
  charger: Duty;
  vehicleSigned: boolean;
  chargerSigned: boolean;
  /** It ended, though late: told first, then over. */
  vehicleEnded: boolean;
  chargerEnded: boolean;
  /** What the vehicle asked, and the current, at the sample that decided. */
  lastAsked_A: number | null;
  lastOutput: number | null;
  lastSample_ns: number;
}

export interface Trigger {
  kind: DutyKind;
  trigger: string;
  delay_s: number;
}

/** What the charger puts out, by what a duty may bound. */
export interface Output {
  current: Measured | null;
  voltage: Measured | null;
}

/** NotificationMaxDelay counts whole seconds: an end sooner by more than one is another notice. */
export const countdownStep_ns = 1_000_000_000;

const deadBelow = {
  current: openingCurrentError_A.value,
  voltage: liveVoltage_V.value,
} as const;

const errorOf = (quantity: 'current' | 'voltage', value: number): number =>
  quantity === 'current' ? currentError_A(value) : reportedVoltageError_V.value;

export class Duties {
  running: RunningDuty[] = [];
  readonly margins: MarginSample[] = [];
  /** A duty was given up when the recording was interrupted: told with the next reading, once. */
  #lost: 'none' | 'untold' | 'told' = 'none';

  arm(trigger: Trigger, reading: Reading, output: Output, asked_A: number | null): void {
    const group = groupOf(trigger.kind);
    const delay_ns = Math.round(trigger.delay_s * 1e9);
    const same = this.running.find((duty) => groupOf(duty.kind) === group);
    if (same !== undefined) {
      const sooner = reading.at_ns + delay_ns < same.armed_ns + same.delay_ns - countdownStep_ns;
      if (!sooner) return;
      this.running = this.running.filter((duty) => duty !== same);
    }
    const row = dutyTable[trigger.kind];
    const known = alive(output[row.quantity], reading.at_ns, currentLives_ns);
    const dead = known !== null && known.value <= deadBelow[row.quantity];
    this.running.push({
      kind: trigger.kind,
      trigger: trigger.trigger,
      armed_ns: reading.at_ns,
      armedFrame: reading.frame,
      delay_ns,
      output: known,
      unseenFor_ns: 0,
      asked_A,
      vehicleSeen: row.vehicle === null ? 'none' : 'running',
      chargerSeen: row.charger === null ? 'none' : dead ? 'met' : 'running',
      vehicle: 'running',
      charger: 'running',
      vehicleSigned: false,
      chargerSigned: false,
      vehicleEnded: false,
      chargerEnded: dead,
      lastAsked_A: asked_A,
      lastOutput: known?.value ?? null,
      lastSample_ns: reading.at_ns,
    });
  }

  /** Takes back what was asked before it had to be obeyed: a cleared stop notice, a new demand after 0 A. */
  cancel(...kinds: DutyKind[]): void {
    if (this.running.length === 0) return;
    this.running = this.running.filter(({ kind }) => !kinds.includes(kind));
  }

  step(reading: Reading, act: Act | null, output: Output): void {
    if (this.margins.length > 0) this.margins.length = 0;
    if (this.#lost !== 'none') this.#lost = this.#lost === 'untold' ? 'told' : 'none';
    if (this.running.length === 0) return;
    this.running = this.running.filter((duty) => !over(duty.vehicle) || !over(duty.charger));
    for (const duty of this.running) {
      if (duty.vehicleEnded && failed(duty.vehicle)) duty.vehicleSeen = 'met';
      if (duty.chargerEnded && failed(duty.charger)) duty.chargerSeen = 'met';
      if (reading.request === true) this.#vehicle(duty, reading, act);
      const now = output[dutyTable[duty.kind].quantity];
      const fresh = now !== null && now.at_ns === reading.at_ns;
      if (fresh && reading.at_ns > duty.armed_ns) this.#charger(duty, reading, now.value);
      giveUp(duty, reading.at_ns);
      tellTogether(duty, reading.at_ns);
    }
  }

  /** The recording is interrupted: what still runs is told as not observed with the next reading. */
  lose(now_ns: number): void {
    this.finish(now_ns);
    const lost = this.worst('vehicle') === 'unobserved' || this.worst('charger') === 'unobserved';
    if (lost) this.#lost = 'untold';
    this.running = [];
  }

  /** The recording ends: what still runs will not be seen. */
  finish(now_ns: number): void {
    for (const duty of this.running) {
      giveUp(duty, now_ns + Number.MAX_SAFE_INTEGER / 2);
      tellTogether(duty, Infinity);
    }
  }

  /** The worst that stands for a side. */
  worst(side: Side): Duty {
    if (this.running.length === 0) return this.#lost === 'none' ? 'none' : 'unobserved';
    const order: Duty[] = ['ignored', 'late', 'doubtful', 'running', 'unobserved', 'met'];
    for (const state of order) if (this.running.some((duty) => duty[side] === state)) return state;
    return 'none';
  }

  #vehicle(duty: RunningDuty, reading: Reading, act: Act | null): void {
    const row = dutyTable[duty.kind].vehicle;
    if (row === null || duty.vehicleEnded || reading.at_ns <= duty.armed_ns) return;
    const since_ns = reading.at_ns - duty.armed_ns - duty.delay_ns;
    if (act === 'stop' || act === 'end') {
      this.#margin(reading, since_ns, endOf(row, duty));
      duty.vehicleEnded = true;
      if (!failed(duty.vehicleSeen)) duty.vehicleSeen = 'met';
      return;
    }
    const asked_A = reading.targetCurrent_A;
    if (asked_A === undefined) return;
    duty.lastAsked_A = asked_A;
    const less = asked_A < (duty.asked_A ?? Infinity) - 0.05;
    duty.vehicleSigned ||= row.mustStopAtOnce ? asked_A <= 0 : less || asked_A <= 0;
    if (!duty.vehicleSigned && since_ns > row.sign_s * 1e9) duty.vehicleSeen = 'ignored';
    else if (duty.vehicleSeen !== 'ignored' && asked_A > 0 && since_ns > endOf(row, duty)) {
      duty.vehicleSeen =
        dutyTable[duty.kind].endConfidence === 'from memory, low' ? 'doubtful' : 'late';
    }
  }

  #charger(duty: RunningDuty, reading: Reading, value: number): void {
    const { charger: row, quantity } = dutyTable[duty.kind];
    if (row === null || duty.chargerEnded) return;
    duty.lastOutput = value;
    duty.lastSample_ns = reading.at_ns;
    const since_ns = reading.at_ns - duty.armed_ns - duty.delay_ns;
    if (value <= deadBelow[quantity]) {
      this.#margin(reading, since_ns, endOf(row, duty));
      duty.chargerEnded = true;
      if (!failed(duty.chargerSeen)) duty.chargerSeen = 'met';
      return;
    }
    if (duty.output === null) {
      // Not known at the trigger: whether it falls shows from here on.
      duty.output = measured(value, reading.at_ns, reading.frame, reading.evidence);
      duty.unseenFor_ns = Math.max(0, since_ns);
    }
    const before = duty.output.value;
    duty.chargerSigned ||= value < before - errorOf(quantity, before);
    const signDue_ns = row.sign_s * 1e9 + duty.unseenFor_ns;
    if (!duty.chargerSigned && since_ns > signDue_ns) duty.chargerSeen = 'ignored';
    else if (duty.chargerSeen !== 'ignored' && since_ns > endOf(row, duty)) {
      duty.chargerSeen =
        dutyTable[duty.kind].endConfidence === 'from memory, low' ? 'doubtful' : 'late';
    }
  }

  #margin(reading: Reading, took_ns: number, limit_ns: number): void {
    const { at_ns, frame } = reading;
    const value = Math.max(0, took_ns) / 1e9;
    this.margins.push({
      rule: 'stop-means-stop',
      value,
      limit: limit_ns / 1e9,
      unit: 's',
      at_ns,
      frame,
    });
  }
}

/** When the duty must be over, in nanoseconds after it started. */
export function endOf(row: { end_s: number; fallingEnd: boolean }, duty: RunningDuty): number {
  if (!row.fallingEnd) return Math.round(row.end_s * 1e9);
  const seen_s = fall_s(duty.output?.value ?? 0);
  // A current first seen late had fallen by then, but never from more than the highest there is.
  const unseen_s = seen_s + duty.unseenFor_ns / 1e9;
  const falling_s =
    duty.unseenFor_ns === 0 ? seen_s : Math.min(unseen_s, fall_s(highestCurrent_A.value));
  return Math.round((row.end_s + falling_s) * 1e9);
}

/** No sample for the life of a value after the deadline: nothing will tell any more. */
function giveUp(duty: RunningDuty, now_ns: number): void {
  const row = dutyTable[duty.kind];
  const since_ns = now_ns - duty.armed_ns - duty.delay_ns;
  if (duty.chargerSeen === 'running' && row.charger !== null) {
    if (since_ns > endOf(row.charger, duty) + currentLives_ns) duty.chargerSeen = 'unobserved';
  }
  if (duty.vehicleSeen === 'running' && row.vehicle !== null) {
    if (since_ns > endOf(row.vehicle, duty) + 2 * currentLives_ns) duty.vehicleSeen = 'unobserved';
  }
}

/**
 * A duty of both sides is told once, with everybody who failed it: a verdict on one waits until the other is known
 * too, at most for the life of one sample after the deadline.
 */
function tellTogether(duty: RunningDuty, now_ns: number): void {
  const row = dutyTable[duty.kind];
  const shared = row.vehicle !== null && row.charger !== null;
  const waiting = duty.vehicleSeen === 'running' || duty.chargerSeen === 'running';
  if (shared && waiting) {
    const due_ns = duty.armed_ns + duty.delay_ns + endOf(row.vehicle!, duty);
    if (now_ns <= due_ns + currentLives_ns) return;
  }
  duty.vehicle = duty.vehicleSeen;
  duty.charger = duty.chargerSeen;
}

/** Triggers that ask the same of the same sides: the soonest of them sets the deadline. */
function groupOf(kind: DutyKind): string {
  const row = dutyTable[kind];
  if (row.vehicle !== null && row.charger !== null) return 'both';
  if (row.vehicle !== null) return 'vehicle';
  return kind === 'pilot left C' || row.quantity === 'voltage' ? kind : 'charger';
}

const failed = (state: Duty): boolean =>
  state === 'ignored' || state === 'late' || state === 'doubtful';

/** Nothing more can come of it. */
const over = (state: Duty): boolean =>
  state === 'none' || state === 'met' || state === 'unobserved';
