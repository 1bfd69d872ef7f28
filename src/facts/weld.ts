// What the voltage at the inlet does after the vehicle's contactors should have opened.
import type { Electrical } from './electrical.ts';
import type { Measured } from './evidence.ts';
import { liveVoltage_V } from './figures.ts';
import type { Reading } from './reading.ts';
import type { Act, Facts } from './vocabulary.ts';

/** An output that discharges loses far more than this between two samples; a battery does not (common practice). */
const stillShare = 0.95;
/** A charger has 1 s to discharge its output; half of it without any fall tells a battery from a capacitor. */
const stillTime_ns = 500_000_000;

export interface Weld {
  state: Facts['weld'];
  told: Facts['weldTold'];
  /** When energy transfer was stopped. */
  stopped_ns: number | null;
  first: Measured | null;
  last: Measured | null;
}

export const initialWeld: Readonly<Weld> = Object.freeze({
  state: 'unknown',
  told: 'no',
  stopped_ns: null,
  first: null,
  last: null,
});

/** Follows the inlet voltage from the stop on; `told` once either side has reported a fault after it. */
export function stepWeld(
  before: Weld,
  reading: Reading,
  act: Act | null,
  electrical: Electrical,
): Weld {
  if (act === 'power' && reading.request === true) return initialWeld;
  const stops = act === 'stop' && reading.request === false;
  if (before.stopped_ns === null && !stops) return before;
  const { at_ns } = reading;
  const next = { ...before, stopped_ns: before.stopped_ns ?? at_ns };
  const alarmed = reading.observed?.kind === 'alarm' && reading.observed.alarm !== 'none';
  if (alarmed || tellsFault(reading)) next.told = 'yes';
  const { inlet } = electrical;
  if (inlet === null || inlet.at_ns !== at_ns || at_ns <= next.stopped_ns) return next;
  next.first ??= inlet;
  next.last = inlet;
  next.state = judge(next, electrical.operating);
  return next;
}

function judge(weld: Weld, operating: Measured | null): Facts['weld'] {
  const { first, last, stopped_ns } = weld;
  if (first === null || last === null || stopped_ns === null) return 'unknown';
  if (last.value <= liveVoltage_V.value) return 'no';
  const before_V = operating?.value ?? first.value;
  const still = last.value >= stillShare * Math.min(first.value, before_V);
  return still && last.at_ns - stopped_ns >= stillTime_ns ? 'stays' : 'falling';
}

/** A message in which its sender reports a fault. */
export function tellsFault(reading: Reading): boolean {
  return (
    typeof reading.error === 'string' ||
    reading.ok === false ||
    reading.status === 'malfunction' ||
    reading.status === 'emergency'
  );
}
