// Ways a side can get from one state to another unseen, and with a message seen: a capture shows no choices and no
// sensors, so they are tried in every way. Remembered by state and event; what becomes of the timers goes along.
import type { MachineEvent, Send } from '../machine/convention.ts';
import type { Step, Stepper } from '../machine/step.ts';

/** Where a timer of the state reached comes from: its place in the state left, or started on the way. */
export const STARTED_NOW = -1;
export const STARTED_BETWEEN = -2;

export interface Path {
  readonly next: number;
  /** For each timer of `next`. */
  readonly timers: readonly number[];
  /** What the side has still to send at once. */
  readonly owes: readonly Send[];
}

export interface Paths {
  /** States reachable by choices and sensors alone, without a message; the state itself first. */
  quiet(state: number): readonly Path[];
  /** Sends this message, after any quiet way. */
  sends(state: number, event: MachineEvent): readonly Path[];
  /** Receives this event, after any quiet way. */
  receives(state: number, event: MachineEvent): readonly Path[];
  /** One step, as a path. */
  one(state: number, event: MachineEvent): Path;
  /** Every message it may send now, with the choice that sends it. */
  offers(state: number): readonly Offer[];
}

export interface Offer {
  readonly send: Send;
  readonly by: MachineEvent;
}

type Memory = WeakMap<MachineEvent, Map<number, readonly Path[]>>;

const NOTHING: readonly Send[] = Object.freeze([]);

/** Whether a message seen may be this output: a fact left out, not seen or unknown may have any value. */
export function fits(send: Send, event: MachineEvent): boolean {
  if (send.message !== event.type) return false;
  for (const fact in send) {
    if (fact === 'message') continue;
    const seen = event[fact];
    if (seen !== undefined && seen !== 'unknown' && seen !== send[fact]) return false;
  }
  return true;
}

export function createPaths(stepper: Stepper): Paths {
  const quietOf = new Map<number, readonly Path[]>();
  const offersOf = new Map<number, readonly Offer[]>();
  // By the event's identity, and no longer than it lives: each session has its own event objects.
  const sendsOf: Memory = new WeakMap();
  const receivesOf: Memory = new WeakMap();

  function toPath(state: number, step: Step): Path {
    const before = stepper.view(state).timers;
    const timers = stepper.view(step.next).timers.map(({ event }) => {
      if (step.armed.includes(event.type)) return STARTED_NOW;
      return before.findIndex((timer) => timer.event.type === event.type);
    });
    return { next: step.next, timers, owes: step.sends };
  }

  function quiet(state: number): readonly Path[] {
    const known = quietOf.get(state);
    if (known !== undefined) return known;
    const same = stepper.view(state).timers.map((_, i) => i);
    const paths = new Map<number, Path>([[state, { next: state, timers: same, owes: NOTHING }]]);
    for (const path of paths.values()) {
      for (const { step } of stepper.moves(path.next)) {
        if (step.sends.length > 0 || paths.has(step.next)) continue;
        paths.set(step.next, join(path, toPath(path.next, step), true));
      }
    }
    const found = [...paths.values()];
    quietOf.set(state, found);
    return found;
  }

  function build(state: number, collect: (from: Path, found: Path[]) => void): readonly Path[] {
    const found: Path[] = [];
    for (const from of quiet(state)) collect(from, found);
    return distinct(found);
  }

  return {
    quiet,
    one: (state, event) => toPath(state, stepper.step(state, event)),
    offers(state) {
      let offers = offersOf.get(state);
      if (offers === undefined) {
        const found: Offer[] = [];
        for (const { next } of quiet(state)) {
          for (const { event, step } of stepper.moves(next)) {
            if (step.sends.length > 0) found.push({ send: step.sends[0]!, by: event });
          }
        }
        offersOf.set(state, (offers = found));
      }
      return offers;
    },
    sends: (state, event) =>
      remembered(sendsOf, event, state, () =>
        build(state, (from, found) => {
          for (const { step } of stepper.moves(from.next)) {
            if (step.sends.length === 0 || !fits(step.sends[0]!, event)) continue;
            const path = join(from, toPath(from.next, step), false);
            found.push({ ...path, owes: step.sends.slice(1) });
          }
        }),
      ),
    receives: (state, event) =>
      remembered(receivesOf, event, state, () =>
        build(state, (from, found) => {
          found.push(join(from, toPath(from.next, stepper.step(from.next, event)), false));
        }),
      ),
  };
}

/** One path after another; timers the first one started were started somewhere between two messages. */
function join(first: Path, second: Path, quiet: boolean): Path {
  const timers = second.timers.map((place) => {
    if (place < 0) return quiet ? STARTED_BETWEEN : place;
    return first.timers[place]! < 0 ? STARTED_BETWEEN : first.timers[place]!;
  });
  return { next: second.next, timers, owes: second.owes };
}

function distinct(paths: readonly Path[]): readonly Path[] {
  const byKey = new Map(paths.map((path) => [JSON.stringify(path), path]));
  return [...byKey.values()];
}

function remembered(
  memory: Memory,
  event: MachineEvent,
  state: number,
  find: () => readonly Path[],
): readonly Path[] {
  let byState = memory.get(event);
  if (byState === undefined) memory.set(event, (byState = new Map()));
  let paths = byState.get(state);
  if (paths === undefined) byState.set(state, (paths = find()));
  return paths;
}
