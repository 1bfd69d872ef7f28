// Packet times: counts of a recorder's units since 1970 become whole nanoseconds from the first packet.
import { REACH_ns, instantText } from '../../trace/time.ts';
import type { Problem } from './packet.ts';

const NANOSECONDS_PER_SECOND = 1_000_000_000n;

/** A step back smaller than this is the ordinary jitter of recorders with several queues (`common practice`). */
const STEP_BACK_TOLD_NS = 1_000_000;

/** How an interface counts time (pcapng if_tsresol and if_tsoffset; pcap by its magic). */
export interface Resolution {
  unitsPerSecond: bigint;
  offset_s: bigint;
}

export const MICROSECONDS: Resolution = { unitsPerSecond: 1_000_000n, offset_s: 0n };
export const NANOSECONDS: Resolution = { unitsPerSecond: NANOSECONDS_PER_SECOND, offset_s: 0n };

/** The time that all interfaces of a file share: its first packet is 0. */
export class FileClock {
  epoch_ns: bigint | null = null;
  #report: (problem: Problem) => void;

  constructor(report: (problem: Problem) => void) {
    this.#report = report;
  }

  /** Nanoseconds from the first packet, or null when that is further than a trace reaches. */
  since(time_ns: bigint): number | null {
    this.epoch_ns ??= time_ns;
    const at_ns = Number(time_ns - this.epoch_ns);
    return Math.abs(at_ns) < REACH_ns ? at_ns : null;
  }

  report(problem: Problem): void {
    this.#report(problem);
  }
}

/**
 * The time of one interface. Exact: big integers are used for its first packet, and from there plain
 * numbers as long as they stay whole and safe.
 */
export class InterfaceClock {
  #file: FileClock;
  #resolution: Resolution;
  /** Nanoseconds a unit when that is a whole number, else 0. */
  #nanosecondsPerUnit: number;
  #baseHigh = 0;
  #baseLow = 0;
  #base_ns: number | null = null;
  #last_ns = 0;

  constructor(file: FileClock, resolution: Resolution) {
    this.#file = file;
    this.#resolution = resolution;
    const { unitsPerSecond } = resolution;
    const whole = NANOSECONDS_PER_SECOND % unitsPerSecond === 0n;
    this.#nanosecondsPerUnit = whole ? Number(NANOSECONDS_PER_SECOND / unitsPerSecond) : 0;
  }

  /** Time of a packet whose 64-bit count of units is given in two halves. */
  at(high: number, low: number, frame: number): number {
    if (this.#base_ns === null || this.#nanosecondsPerUnit === 0)
      return this.#exact(high, low, frame);
    const units = (high - this.#baseHigh) * 0x1_0000_0000 + (low - this.#baseLow);
    const since_ns = units * this.#nanosecondsPerUnit;
    const at_ns = this.#base_ns + since_ns;
    // Both must be safe, or the sum may have been rounded on its way.
    if (!Number.isSafeInteger(since_ns) || Math.abs(at_ns) >= REACH_ns) {
      return this.#exact(high, low, frame);
    }
    return this.#checked(at_ns, frame);
  }

  #exact(high: number, low: number, frame: number): number {
    const { unitsPerSecond, offset_s } = this.#resolution;
    const units = (BigInt(high) << 32n) | BigInt(low);
    const time_ns =
      (units * NANOSECONDS_PER_SECOND) / unitsPerSecond + offset_s * NANOSECONDS_PER_SECOND;
    const at_ns = this.#file.since(time_ns);
    if (at_ns === null) {
      this.#file.report({
        problem: 'clock',
        says: 'the time of this packet is more than 46 days from the first: it is given that of the packet before',
        frame,
      });
      return this.#last_ns;
    }
    if (this.#base_ns === null) {
      this.#base_ns = at_ns;
      this.#baseHigh = high;
      this.#baseLow = low;
      this.#last_ns = at_ns;
    }
    return this.#checked(at_ns, frame);
  }

  #checked(at_ns: number, frame: number): number {
    if (at_ns < this.#last_ns - STEP_BACK_TOLD_NS) {
      const step_s = (this.#last_ns - at_ns) / 1e9;
      this.#file.report({
        problem: 'clock',
        says: `the recorder's clock stepped back by ${step_s} s`,
        frame,
      });
    }
    this.#last_ns = at_ns;
    return at_ns;
  }
}

/** The years 0 to 9999, which a header's epoch can say: nanoseconds since 1970. */
const FIRST_YEAR_NS = -62_167_219_200n * NANOSECONDS_PER_SECOND;
const BEYOND_LAST_YEAR_NS = 253_402_300_800n * NANOSECONDS_PER_SECOND;

/** The header's epoch: ISO 8601 with nine decimals and Z; null for a time that no calendar holds. */
export function epochText(epoch_ns: bigint): string | null {
  const sayable = epoch_ns >= FIRST_YEAR_NS && epoch_ns < BEYOND_LAST_YEAR_NS;
  return sayable ? instantText(epoch_ns) : null;
}
