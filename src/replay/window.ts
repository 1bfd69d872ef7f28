// The messages around a finding: its trigger, what led to it, and what came next.
import type { Reading } from '../facts/reading.ts';
import { digest } from '../protocols/system-c/digest.ts';
import type { WindowLine } from '../rules/result.ts';
import type { Side } from '../trace/observation.ts';

interface Kept {
  index: number;
  frame: number | null;
  at_ns: number;
  from: Side;
  reading: Reading;
}

/** How far back a trigger can still be shown; bounded however long the session. */
const memory = 512;
const linesBefore = 3;
const linesAfter = 2;

export interface WindowRequest {
  frame: number | null;
  at_ns: number;
  /** Frame of the message that armed a deadline. */
  armedFrame: number | null;
}

/** Remembers the last messages of one session and cuts windows out of them. */
export class WindowMaker {
  #recent: Kept[] = [];
  #next = 0;
  #open: {
    kept: Set<Kept>;
    here: Kept | undefined;
    missing: number;
    done: (lines: WindowLine[]) => void;
  }[] = [];

  message(reading: Reading, from: Side): void {
    const { frame, at_ns } = reading;
    const kept: Kept = { index: this.#next++, frame, at_ns, from, reading };
    this.#recent.push(kept);
    if (this.#recent.length > 2 * memory) this.#recent = this.#recent.slice(-memory);
    if (this.#open.length === 0) return;
    for (const one of this.#open) {
      one.kept.add(kept);
      one.missing -= 1;
      if (one.missing === 0) one.done(lines(one.kept, one.here));
    }
    this.#open = this.#open.filter((one) => one.missing > 0);
  }

  /** Cuts a window; `done` is called once the messages after it have come, or at `finish`. */
  cut(request: WindowRequest, done: (lines: WindowLine[]) => void): void {
    const recent = this.#recent;
    const at = recent.findLastIndex((one) =>
      request.frame === null ? one.at_ns <= request.at_ns : one.frame === request.frame,
    );
    const here = at < 0 ? recent.length - 1 : at;
    const kept = new Set(recent.slice(Math.max(0, here - linesBefore), here + 1 + linesAfter));
    const armed = recent.findLastIndex(
      (one) => one.frame !== null && one.frame === request.armedFrame,
    );
    if (armed >= 0)
      for (const one of recent.slice(Math.max(0, armed - 1), armed + 2)) kept.add(one);
    const missing = linesAfter - (recent.length - 1 - here);
    const entry = { kept, here: recent[here], missing, done };
    if (missing <= 0) done(lines(kept, entry.here));
    else this.#open.push(entry);
  }

  finish(): void {
    for (const one of this.#open) one.done(lines(one.kept, one.here));
    this.#open = [];
  }
}

function lines(kept: Set<Kept>, here: Kept | undefined): WindowLine[] {
  const ordered = [...kept].toSorted((a, b) => a.index - b.index);
  return ordered.map((one, position) => {
    const previous = ordered[position - 1];
    return {
      frame: one.frame,
      at: one.at_ns / 1e9,
      from: one.from,
      name: one.reading.name,
      says: digest(one.reading),
      here: one === here,
      omitted: previous === undefined ? 0 : one.index - previous.index - 1,
    };
  });
}
