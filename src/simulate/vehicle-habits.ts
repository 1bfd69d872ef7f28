// What a vehicle usually does where it has a choice: go on while all is well, ask for power inside its gate, come down
// before it stops, look for a weld, end, unlock.
import type { VehicleMind, VehiclePauses } from './vehicle-settings.ts';
import type { Choice, Situation, Strategy } from './strategy.ts';

const WELD_CHECKS = 3;

export function vehicleHabits(mind: VehicleMind): Strategy {
  return { choose: (situation) => choose(mind, situation) };
}

function choose(mind: VehicleMind, situation: Situation): Choice | null {
  const { can, since_ns, at_ns, senses, state } = situation;
  const { pauses } = mind.settings;
  const after = (type: string, pause_ms: number): Choice => ({
    type,
    at_ns: Math.max(at_ns, since_ns + pause_ms * 1e6),
  });
  if (can('choose.open') && mayOpen(mind, situation)) return after('choose.open', 10);
  if (can('choose.unlock')) return after('choose.unlock', pauses.unlock_ms);
  if (senses.link !== 'open') return null;
  if (mind.hasFault && can('sense.fault')) return after('sense.fault', 10);
  const pause_ms = pauseOf(pauses, state.stage);
  const due_ns = Math.max(at_ns, since_ns + pause_ms * 1e6);
  if (state.stage === 'shutdown') return windsUp(mind, situation, due_ns);
  if (state.stage === 'energy transfer') mind.consider(due_ns);
  if (mind.wantsStop()) return stops(mind, situation, due_ns);
  if (can('choose.power')) return { type: 'choose.power', at_ns: due_ns };
  if (can('choose.next')) return { type: 'choose.next', at_ns: due_ns };
  return lastResort(mind, situation, due_ns);
}

/** In a renegotiation the contactors stay closed. */
function mayOpen(mind: VehicleMind, { state }: Situation): boolean {
  return state.stage === 'shutdown' || mind.wantsStop();
}

function pauseOf(pauses: VehiclePauses, stage: string): number {
  if (stage === 'cable check') return pauses.cableCheck_ms;
  if (stage === 'pre-charge') return pauses.preCharge_ms;
  if (stage === 'energy transfer') return pauses.demand_ms;
  return stage === 'shutdown' ? pauses.shutdown_ms : pauses.setUp_ms;
}

/** The demand comes down first; then the stop. A fault or an emergency does not wait. */
function stops(mind: VehicleMind, situation: Situation, at_ns: number): Choice | null {
  const { can, senses } = situation;
  const flows = mind.demand_A > 0 || Math.abs(senses.current_A ?? 0) > 1;
  if (flows && !mind.hasFault && can('choose.next')) return { type: 'choose.next', at_ns };
  return lastResort(mind, situation, at_ns);
}

/** One stop and one end: neither helps when it is said twice. */
function lastResort(mind: VehicleMind, { can }: Situation, at_ns: number): Choice | null {
  if (mind.stopsSaid === 0 && can('choose.stop')) return { type: 'choose.stop', at_ns };
  if (mind.endsSaid === 0 && can('choose.end')) return { type: 'choose.end', at_ns };
  return null;
}

function windsUp(mind: VehicleMind, situation: Situation, at_ns: number): Choice | null {
  const { can, senses } = situation;
  const live = (senses.inlet_V ?? 0) > 60;
  const checks = mind.weldChecks === 0 || (live && mind.weldChecks < WELD_CHECKS);
  if (checks && can('choose.weld check')) return { type: 'choose.weld check', at_ns };
  return lastResort(mind, situation, at_ns);
}
