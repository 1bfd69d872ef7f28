// Conformance: each message is one the protocol allows now (in-order), and comes within its time (in-time).
import type { MachineEvent, SideMachine } from '../machine/convention.ts';
import type { SilenceTold } from '../facts/silence.ts';
import type { Reading } from '../facts/reading.ts';
import type { Divergence } from '../rules/result.ts';
import type { RuleId } from '../rules/rule.ts';
import type { Side } from '../trace/observation.ts';
import { createFollower } from './follow.ts';
import type { Follower } from './follow-types.ts';
import type { Whereabouts } from './watch.ts';

export interface SidePair {
  vehicle: SideMachine;
  charger: SideMachine;
}

/** One remark; equal ones later in the session are counted, not listed. */
export interface Remark {
  rule: RuleId;
  owners: Side[];
  at_ns: number;
  frame: number | null;
  says: string;
  seen: string;
  allowed: string;
  clause: string | null;
  deadline: { armedFrame: number | null; due_ns: number } | null;
  times: number;
}

/** More than this of one session are counted only: after the first the rest rarely says more. */
const remarksAtMost = 50;

export class Conformance {
  readonly remarks: Remark[] = [];
  readonly divergences: Divergence[] = [];
  /** Divergences beyond those listed. */
  unlisted = 0;
  #followers: Record<Side, Follower> | null = null;
  readonly #stages: Record<Side, string[]> = { vehicle: [], charger: [] };

  start(machines: SidePair | undefined, joined: boolean, opened: number | null): void {
    if (machines === undefined) return;
    const common = { joined, ...(opened === null ? {} : { opened_ns: opened }) };
    this.#followers = {
      vehicle: createFollower({ side: 'vehicle', machine: machines.vehicle, ...common }),
      charger: createFollower({ side: 'charger', machine: machines.charger, ...common }),
    };
  }

  message(event: MachineEvent, from: Side, at_ns: number, frame: number | null): void {
    if (this.#followers === null) return;
    for (const side of ['vehicle', 'charger'] as const) {
      const step = this.#followers[side].observe(event, from, at_ns, frame);
      const { divergence, repeated } = step;
      this.#stages[side] = step.stages;
      if (divergence === null || repeated) continue;
      if (this.divergences.length < remarksAtMost) this.divergences.push(divergence);
      else this.unlisted += 1;
    }
  }

  gap(): void {
    this.#followers?.vehicle.gap();
    this.#followers?.charger.gap();
  }

  linkClosed(at_ns: number): void {
    this.#followers?.vehicle.linkClosed(at_ns);
    this.#followers?.charger.linkClosed(at_ns);
  }

  /** An answer after the vehicle's timeout: late within a second is no matter of safety (ISO 15118-2, 8.7). */
  lateAnswer(told: SilenceTold, reading: Reading): void {
    const same = this.remarks.find(
      (one) => one.rule === 'in-time' && one.seen.startsWith(reading.name),
    );
    if (same !== undefined) {
      same.times += 1;
      return;
    }
    const took_s = Number((told.lasted_ns / 1e9).toFixed(3));
    const allowed_s = told.allowed_ns / 1e9;
    this.remarks.push({
      rule: 'in-time',
      owners: ['charger'],
      at_ns: reading.at_ns,
      frame: reading.frame,
      says: `The charger sent ${reading.name} ${took_s} s after ${told.after}; the vehicle waits ${allowed_s} s.`,
      seen: `${reading.name} after ${took_s} s`,
      allowed: `an answer within ${allowed_s} s`,
      clause: 'ISO 15118-2, 8.7, Table 109; DIN SPEC 70121, 9.6',
      deadline: {
        armedFrame: told.sinceFrame,
        due_ns: reading.at_ns - told.lasted_ns + told.allowed_ns,
      },
      times: 1,
    });
  }

  /** Where each side may be after the last message. */
  whereabouts(): Record<Side, Whereabouts> {
    const of = (side: Side): Whereabouts => ({
      stages: this.#stages[side],
      states: this.#followers?.[side].states() ?? [],
      next: this.#followers?.[side].next() ?? [],
    });
    return { vehicle: of('vehicle'), charger: of('charger') };
  }

  /** Everything remarked, divergences included, in time order. */
  all(): Remark[] {
    const remarks = this.divergences.map(remarkOf);
    return [...this.remarks, ...remarks].toSorted((a, b) => a.at_ns - b.at_ns);
  }
}

function remarkOf(divergence: Divergence): Remark {
  const { side, message, frame, at, excluded, allowed, because } = divergence;
  return {
    rule: because === 'timer' ? 'in-time' : 'in-order',
    owners: [side],
    at_ns: Math.round(at * 1e9),
    frame,
    says: `The ${side} sent ${message}, which the protocol does not allow here: ${excluded}.`,
    seen: message,
    allowed: allowed.length === 0 ? 'nothing more in this session' : allowed.join('; '),
    clause: 'DIN SPEC 70121, 9.7; ISO 15118-2, 8.8',
    deadline: null,
    times: 1,
  };
}
