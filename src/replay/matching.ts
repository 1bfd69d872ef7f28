// SLAC matching (ISO 15118-3 Annex A) seen before a session, kept until a session claims it by the vehicle's address.
import type { Matching } from '../rules/result.ts';
import type { MessageObservation } from '../trace/observation.ts';

interface Match {
  vehicle: string;
  runId: string | null;
  from_ns: number;
  to_ns: number;
  matched: boolean;
}

/** A match counts for a session that starts within this time: TT_match_join is 12 s, set-up may take 20 s more. */
const reach_ns = 60_000_000_000;
const matchesAtMost = 1000;

export class MatchingBook {
  #matches: Match[] = [];

  take(observation: MessageObservation): void {
    const { from, at_ns, message } = observation;
    const vehicle = from === 'vehicle' ? observation.sender : observation.receiver;
    if (vehicle === undefined) return;
    const runId = typeof message.RunID === 'string' ? message.RunID : null;
    const last = this.#matches.findLast((one) => one.vehicle === vehicle);
    const starts = observation.name === 'CM_SLAC_PARM.REQ' && last?.runId !== runId;
    if (last === undefined || starts) {
      this.#matches.push({ vehicle, runId, from_ns: at_ns, to_ns: at_ns, matched: false });
      if (this.#matches.length > matchesAtMost) this.#matches.shift();
      return;
    }
    last.to_ns = at_ns;
    last.matched ||= observation.name === 'CM_SLAC_MATCH.CNF';
  }

  /**
   * The match a session of this vehicle rests on, or null. A host may speak under another address than its modem:
   * then the only match of the last minute is taken.
   */
  claim(vehicle: string | null, start_ns: number): Matching | null {
    const near = this.#matches.filter((one) => start_ns - one.to_ns <= reach_ns);
    const own = near.findLast((one) => one.vehicle === vehicle);
    const match = own ?? (near.length === 1 ? near[0] : undefined);
    if (match === undefined) return null;
    this.#matches = this.#matches.filter((one) => one !== match);
    const { runId, from_ns, to_ns, matched } = match;
    return { runId, from: from_ns / 1e9, to: to_ns / 1e9, matched };
  }

  unused(): number {
    return this.#matches.length;
  }
}
