// What the output may be: both sides' latest limits, and what was asked within the last second.
import type { MarginSample } from './evidence.ts';
import { Ceiling, type Allowed } from './ceiling.ts';
import {
  currentToleranceShare,
  currentTolerance_A,
  demandFollow_A_per_s,
  demandWindow_s,
  highestCurrent_A,
  reportedVoltageError_V,
  stopFall_A_per_s,
  voltageToleranceShare,
} from './figures.ts';
import type { Reading } from './reading.ts';
import type { Act, Facts } from './vocabulary.ts';
import type { Side } from '../trace/observation.ts';

/** One sample of the output beyond what was allowed. */
export interface Excess {
  quantity: 'current' | 'voltage' | 'power';
  unit: 'A' | 'V' | 'W';
  value: number;
  limit: number;
  tolerance: number;
  /** Whose limit it is; null for a request. */
  limitOf: Side | null;
  limitFrame: number | null;
  /** Beyond the rough figure only. */
  doubtful: boolean;
}

const window_ns = demandWindow_s.value * 1e9;
type Quantity = Excess['quantity'];
const unitOf = { current: 'A', voltage: 'V', power: 'W' } as const;

export class Envelope {
  readonly #limits: Record<Side, Record<Quantity, Ceiling>> = {
    vehicle: limitCeilings(),
    charger: limitCeilings(),
  };
  readonly #askedCurrent = new Ceiling(
    window_ns,
    demandFollow_A_per_s.value,
    highestCurrent_A.value,
  );
  readonly #askedVoltage = new Ceiling(window_ns, Infinity, 0);
  limits: Facts['limits'] = 'unknown';
  demand: Facts['demand'] = 'unknown';
  overLimit: Excess | null = null;
  overDemand: Excess | null = null;
  readonly margins: MarginSample[] = [];

  /** The recording shows nothing before `at_ns`: any limit and any request may have stood. */
  forget(at_ns: number): void {
    for (const side of ['vehicle', 'charger'] as const) {
      for (const ceiling of Object.values(this.#limits[side])) ceiling.forget(at_ns);
    }
    this.#askedCurrent.forget(at_ns);
    this.#askedVoltage.forget(at_ns);
    this.limits = 'unknown';
    this.demand = 'unknown';
  }

  /** Current asked at last, for telling; null before the first demand. */
  asked(now_ns: number): Allowed | null {
    return this.#askedCurrent.allowed(now_ns);
  }

  /** `testing`: the charger alone is live, for the isolation test. */
  step(reading: Reading, act: Act | null, testing: boolean): void {
    if (this.margins.length > 0) this.margins.length = 0;
    this.#learn(reading, act);
    const voltage_V = sample(reading, 'voltage');
    const current_A = sample(reading, 'current');
    this.limits = 'unknown';
    this.demand = 'unknown';
    if (voltage_V === undefined && current_A === undefined) return;
    const { at_ns } = reading;
    this.overLimit = this.#judgeLimits(reading, testing, voltage_V, current_A);
    this.limits = factOf(this.overLimit, this.#anyLimit(at_ns));
    if (act === 'weld check') return;
    this.overDemand = this.#judgeDemand(reading, voltage_V, current_A);
    this.demand = factOf(this.overDemand, this.#askedCurrent.allowed(at_ns) !== null);
  }

  #learn(reading: Reading, act: Act | null): void {
    const { at_ns, frame, from, limits } = reading;
    if (limits !== undefined && from !== null) {
      const own = this.#limits[from];
      if (limits.current_A !== undefined) own.current.set(limits.current_A, at_ns, frame);
      if (limits.voltage_V !== undefined) own.voltage.set(limits.voltage_V, at_ns, frame);
      if (limits.power_W !== undefined) own.power.set(limits.power_W, at_ns, frame);
    }
    if (reading.request !== true) return;
    if (act === 'demand' || act === 'approach') {
      const { targetCurrent_A, targetVoltage_V } = reading;
      if (targetCurrent_A !== undefined) this.#askedCurrent.set(targetCurrent_A, at_ns, frame);
      if (targetVoltage_V !== undefined) this.#askedVoltage.set(targetVoltage_V, at_ns, frame);
    }
  }

  #anyLimit(at_ns: number): boolean {
    return this.#limits.vehicle.current.allowed(at_ns) !== null;
  }

  #judgeLimits(
    reading: Reading,
    testing: boolean,
    voltage_V?: number,
    current_A?: number,
  ): Excess | null {
    const power_W =
      voltage_V !== undefined && current_A !== undefined ? voltage_V * current_A : undefined;
    const values = { current: current_A, voltage: voltage_V, power: power_W };
    let worst: Excess | null = null;
    for (const limitOf of ['vehicle', 'charger'] as const) {
      for (const quantity of ['current', 'voltage', 'power'] as const) {
        const value = values[quantity];
        const allowed = this.#limits[limitOf][quantity].allowed(reading.at_ns);
        if (value === undefined || allowed === null) continue;
        this.#margin('within-limits', reading, value, allowed.value, unitOf[quantity]);
        const found = excess(quantity, value, allowed, limitOf);
        // Whether the test voltage must stay within the vehicle's limit is known roughly; 500 V are common.
        const rough = testing && quantity === 'voltage' && limitOf === 'vehicle';
        worst = worse(worst, found !== null && rough ? { ...found, doubtful: true } : found);
      }
    }
    return worst;
  }

  #judgeDemand(reading: Reading, voltage_V?: number, current_A?: number): Excess | null {
    const { at_ns } = reading;
    const current = this.#askedCurrent.allowed(at_ns);
    const voltage = this.#askedVoltage.allowed(at_ns);
    let worst: Excess | null = null;
    if (current !== null && current_A !== undefined) {
      this.#margin('follows-demand', reading, current_A, current.value, 'A');
      worst = worse(worst, excess('current', current_A, current, null));
    }
    if (voltage !== null && voltage_V !== undefined) {
      worst = worse(worst, excess('voltage', voltage_V, voltage, null));
    }
    return worst;
  }

  #margin(rule: string, reading: Reading, value: number, limit: number, unit: string): void {
    const { at_ns, frame } = reading;
    if (limit > 0) this.margins.push({ rule, value, limit, unit, at_ns, frame });
  }
}

function limitCeilings(): Record<Quantity, Ceiling> {
  return {
    current: new Ceiling(window_ns, stopFall_A_per_s.value, highestCurrent_A.value),
    voltage: new Ceiling(window_ns, Infinity, 0),
    power: new Ceiling(window_ns, Infinity, 0),
  };
}

function sample(reading: Reading, quantity: 'voltage' | 'current'): number | undefined {
  const { observed } = reading;
  if (quantity === 'current') {
    return observed?.kind === 'current' ? observed.current_A : reading.presentCurrent_A;
  }
  const output = observed?.kind === 'voltage' && observed.place !== 'battery';
  return output ? observed.voltage_V : reading.presentVoltage_V;
}

/** Tolerances of IEC 61851-23:2014, 101.2.1; a voltage over its limit by less is told as doubtful. */
function excess(
  quantity: Quantity,
  value: number,
  allowed: Allowed,
  limitOf: Side | null,
): Excess | null {
  const limit = allowed.value;
  const tolerance =
    quantity === 'current'
      ? Math.max(currentTolerance_A.value, currentToleranceShare.value * limit)
      : Math.max(reportedVoltageError_V.value, voltageToleranceShare.value * limit);
  const doubt =
    quantity === 'voltage' && limitOf !== null ? reportedVoltageError_V.value : tolerance;
  if (value <= limit + doubt) return null;
  return {
    quantity,
    unit: unitOf[quantity],
    value,
    limit,
    tolerance,
    limitOf,
    limitFrame: allowed.frame,
    doubtful: value <= limit + tolerance,
  };
}

function worse(a: Excess | null, b: Excess | null): Excess | null {
  if (a === null || b === null) return a ?? b;
  if (a.doubtful !== b.doubtful) return a.doubtful ? b : a;
  return b.value / b.limit > a.value / a.limit ? b : a;
}

function factOf(found: Excess | null, known: boolean): 'within' | 'doubtful' | 'over' | 'unknown' {
  if (found !== null) return found.doubtful ? 'doubtful' : 'over';
  return known ? 'within' : 'unknown';
}
