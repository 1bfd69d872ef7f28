// Time: digital clocks for the short timers of both sides and for the duties the rules keep; long timers fire when they
// like.
import { and, ifThen, not, or, type Term } from '../model/build.ts';
import type { Side } from '../../trace/observation.ts';
import { Change } from './change.ts';
import { addCommand } from './commands.ts';
import type { Memory } from './memory.ts';
import { addReaction } from './reactions.ts';
import { QUIET_VALUES, type System } from './system.ts';

export function addTimers(system: System, memory: Memory): void {
  for (const side of ['vehicle', 'charger'] as const) {
    for (const index of system[side].clocks.keys()) addClock(system, memory, side, index);
    addFreeTimers(system, memory, side);
  }
}

/** A timer whose clock has run out. */
function addClock(system: System, memory: Memory, side: Side, index: number): void {
  const { machine, clocks } = system[side];
  const clock = clocks[index]!;
  const state = system.is[side];
  const running = clock.running.at(state);
  const inputs = [0, ...clock.timers.map((timer) => machine.timers[timer]!.input)];
  const input = system.builder.table(`${side}_clock_${index}_inputs`, [inputs.length], inputs);
  addReaction(system, memory, {
    name: `${side}: ${clock.timers.length === 1 ? machine.timers[clock.timers[0]!]!.name : `timer on clock ${index}`} runs out`,
    side,
    input: input.at(running),
    guard: and(running.gt(0), system.clocks[side][index]!.eq(0)),
  });
}

/** A long timer, whenever it likes. */
function addFreeTimers(system: System, memory: Memory, side: Side): void {
  const { machine, free } = system[side];
  const state = system.is[side];
  const runs = machine.states.map(({ timers }) =>
    timers.map((timer) => machine.timers[timer]!.input).filter((input) => free.includes(input)),
  );
  const most = Math.max(0, ...runs.map((inputs) => inputs.length));
  if (most === 0) return;
  const { builder } = system;
  const count = builder.table(
    `${side}_free_count`,
    [runs.length],
    runs.map((one) => one.length),
  );
  const inputs = builder.table(
    `${side}_free_inputs`,
    [runs.length, most],
    runs.flatMap((one) => Array.from({ length: most }, (_, at) => one[at] ?? 0)),
  );
  const which = builder.choice('timer', count.at(state));
  addReaction(system, memory, {
    name: `${side}: a long timer runs out`,
    side,
    input: inputs.at(state, which),
    choose: [which],
    guard: true,
  });
}

const seesPilot = ({ charger }: System): boolean =>
  charger.machine.inputs.some(({ type }) => type === 'sense.pilot');

/** A duty after one tick: 0 for none and 1 for run out stay. */
const passes = (due: Term): Term => ifThen(due.gt(1), due.minus(1), due);

/**
 * A quarter of a second passes. A side whose timer has run out acts before; so does a charger that has the pilot's
 * change before it.
 */
export function addTick(system: System, memory: Memory): void {
  const { is } = system;
  const change = new Change();
  const waits: Term[] = [];
  for (const side of ['vehicle', 'charger'] as const) {
    for (const [index, clock] of system[side].clocks.entries()) {
      const variable = system.clocks[side][index]!;
      const runs = clock.running.at(is[side]).gt(0);
      waits.push(not(and(runs, variable.eq(0))));
      change.set(variable, ifThen(runs, variable.minus(1).max(0), 0));
    }
  }
  const flows = is.current.eq(1);
  const live = or(flows, and(is.output.ne(0), is.contactor.eq(0)));
  const quiet = ifThen(flows, is.quiet.plus(1).min(QUIET_VALUES - 1), 0);
  const due = passes(is.chargerDue);
  change
    .set(is.vehicleDue, passes(is.vehicleDue))
    .set(is.chargerDue, ifThen(live, due, 0))
    .set(is.patience, passes(is.patience))
    .set(is.quiet, quiet);
  addCommand(system, memory, {
    name: 'a quarter of a second passes',
    guard: and(
      ...waits,
      // A charger that does not look at the pilot is waited for by nobody.
      seesPilot(system) ? or(is.pilotSeen.eq(is.pilot), is.chargerLink.eq(1)) : true,
      is.crash.ne(is.crash.value('signalled')),
      is.emergencyStop.is('no'),
    ),
    change,
    happening: {
      // The deadline of 100 ms ends within the first tick. A welded contactor cannot open: welded-told is about that.
      crashIgnored: and(is.crash.ne(0), is.contactor.eq(1), is.welded.is('no')),
      chargerIgnores: and(live, is.chargerDue.gt(0), due.eq(1)),
      // While the vehicle's own timer for an answer runs it waits; that is no silence.
      vehicleSilent: and(flows, quiet.eq(QUIET_VALUES - 1), is.patience.le(1)),
    },
  });
}
