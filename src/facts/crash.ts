// A crash signal must open the pack within its deadline, whatever the charger says.
import type { MarginSample } from './evidence.ts';
import type { Electrical } from './electrical.ts';
import type { Reading } from './reading.ts';
import type { Duty } from './vocabulary.ts';

export interface Crash {
  duty: Duty;
  signalled_ns: number | null;
  signalFrame: number | null;
  opened_ns: number | null;
  /** Open at the signal or after it, and then closed. */
  closedAfter: boolean;
  margin: MarginSample | null;
}

export const initialCrash: Readonly<Crash> = Object.freeze({
  duty: 'none',
  signalled_ns: null,
  signalFrame: null,
  opened_ns: null,
  closedAfter: false,
  margin: null,
});

/** `limit_ns`: project parameter, 100 ms unless told otherwise (our choice). */
export function stepCrash(
  before: Crash,
  reading: Reading,
  electrical: Electrical,
  limit_ns: number,
): Crash {
  const seen = reading.observed;
  const signals = seen?.kind === 'alarm' && seen.alarm === 'crash';
  if (before.signalled_ns === null && !signals) return before;
  const next: Crash = { ...before, margin: null };
  if (next.signalled_ns === null) {
    next.signalled_ns = reading.at_ns;
    next.signalFrame = reading.frame;
    next.duty = 'running';
  }
  const known = electrical.contactorEvidence === 'measured';
  if (next.duty === 'met' || next.duty === 'late') {
    // Whether it opened for the crash or was open already: a pack that closes after it is not isolated.
    const closes = known && electrical.vehicleContactor === 'closed';
    return closes ? { ...next, duty: 'ignored', closedAfter: true } : next;
  }
  const since_ns = reading.at_ns - next.signalled_ns;
  if (known && electrical.vehicleContactor === 'open') {
    next.opened_ns = reading.at_ns;
    next.duty = since_ns <= limit_ns ? 'met' : 'late';
    next.margin = {
      rule: 'crash-isolates',
      value: since_ns / 1e6,
      limit: limit_ns / 1e6,
      unit: 'ms',
      at_ns: reading.at_ns,
      frame: reading.frame,
    };
  } else if (since_ns > limit_ns) {
    next.duty = known && electrical.vehicleContactor === 'closed' ? 'ignored' : 'unobserved';
  }
  return next;
}
