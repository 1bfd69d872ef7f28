// The vehicle between its machine and its pack: what it asks for, by its weakest cell, and when it goes on or stops.
import { closingGate_V, liveVoltage_V, openingCurrentNormal_A } from '../facts/figures.ts';
import type { Limits, Reading } from '../facts/reading.ts';
import type { MachineEvent, Send } from '../machine/convention.ts';
import type { Numbers, Wanted } from '../protocols/system-c/compose.ts';
import type { Control } from './control.ts';
import { createDemand, type Demand } from './demand.ts';
import type { Senses } from './senses.ts';
import type { Sight } from './side.ts';
import type { Strategy } from './strategy.ts';
import { vehicleHabits } from './vehicle-habits.ts';
import type { VehicleMind, VehicleSettings } from './vehicle-settings.ts';

/** A contactor opens within 20 ms or so; after this it did not (common practice). */
const OPENS_WITHIN_ns = 200_000_000;
/** A voltage this near the battery's, after opening, is the battery's. */
const STILL_BATTERY = 0.95;
/** The charger has a second to discharge its output (IEC 61851-23 7.2.3.2); what stays longer is no capacitor. */
const STAYS_ns = 1_500_000_000;

export function createVehicleControl(
  settings: VehicleSettings,
): (senses: Readonly<Senses>) => VehicleControl {
  return (senses) => new VehicleControl(settings, senses);
}

export class VehicleControl implements Control, VehicleMind {
  readonly settings: VehicleSettings;
  readonly habits: Strategy;
  hasFault = false;
  stopsSaid = 0;
  endsSaid = 0;
  weldChecks = 0;
  private readonly senses: Readonly<Senses>;
  private readonly demand: Demand;
  private sessionId: string | undefined;
  private readonly chargerLimits: Limits = {};
  private askedToStop = false;
  private crashed = false;
  private opened_ns: number | null = null;
  private weldTold = false;

  constructor(settings: VehicleSettings, senses: Readonly<Senses>) {
    this.settings = settings;
    this.senses = senses;
    this.demand = createDemand(settings.demand);
    this.habits = vehicleHabits(this);
  }

  get demand_A(): number {
    return this.demand.current_A;
  }

  wantsStop(): boolean {
    const { stateOfCharge_percent: charge, alarm } = this.senses;
    const full = charge !== null && charge >= this.settings.target_percent;
    return full || this.askedToStop || this.hasFault || this.demand.isDone || alarm !== 'none';
  }

  facts(): Readonly<Record<string, string>> {
    const { lock, inlet_V } = this.senses;
    return {
      inlet: inlet_V !== null && inlet_V <= liveVoltage_V.value ? 'safe' : 'live',
      locked: lock === 'locked' ? 'yes' : 'no',
      gate: this.gate(),
      current: this.current(),
      demand: this.demand.current_A > 0 ? 'some' : 'none',
      cells: this.demand.isFull(this.senses) ? 'full' : 'within',
    };
  }

  private gate(): string {
    const { battery_V, inlet_V } = this.senses;
    if (battery_V === null || inlet_V === null) return 'outside';
    const within_V = Math.min(this.settings.closesWithin_V, closingGate_V.value);
    return Math.abs(battery_V - inlet_V) < within_V ? 'inside' : 'outside';
  }

  private current(): string {
    const { current_A } = this.senses;
    if (current_A === null) return 'none';
    const size_A = Math.abs(current_A);
    if (size_A > openingCurrentNormal_A.value) return 'flowing';
    return size_A > 0.1 ? 'low' : 'none';
  }

  heard(reading: Reading): void {
    const { act, name, limits, notice, status, isolationStatus, sessionId } = reading;
    if (name === 'SessionSetupRes') this.sessionId = sessionId;
    Object.assign(this.chargerLimits, limits);
    if (notice?.kind === 'stop' || isolationStatus === 'fault') this.askedToStop = true;
    // Until the pre-charge a charger is not ready as a matter of course.
    const works = act === 'approach' || act === 'demand' || name === 'PowerDeliveryRes';
    if (works && status !== 'ready') this.askedToStop = true;
  }

  signals(sight: Sight): readonly MachineEvent[] {
    if (sight.kind !== 'alarm' || sight.alarm === 'none') return [];
    if (sight.alarm === 'crash') {
      if (this.crashed) return [];
      this.crashed = true;
      return [{ type: 'signal.crash' }];
    }
    if (sight.alarm !== 'stop asked') this.hasFault = true;
    return [];
  }

  overdue(at_ns: number): { events: readonly MachineEvent[]; wakeAt_ns: number | null } {
    if (this.opened_ns === null || this.weldTold) return { events: [], wakeAt_ns: null };
    const { contactor, inlet_V, battery_V } = this.senses;
    const since_ns = at_ns - this.opened_ns;
    const closed = contactor === 'closed';
    const live = inlet_V !== null && inlet_V > liveVoltage_V.value;
    const stays = live && battery_V !== null && inlet_V > STILL_BATTERY * battery_V;
    if ((closed && since_ns >= OPENS_WITHIN_ns) || (stays && since_ns >= STAYS_ns)) {
      this.weldTold = true;
      this.hasFault = true;
      return { events: [{ type: 'signal.weld' }], wakeAt_ns: null };
    }
    if (!closed && !stays) return { events: [], wakeAt_ns: null };
    return { events: [], wakeAt_ns: this.opened_ns + (closed ? OPENS_WITHIN_ns : STAYS_ns) };
  }

  usual({ message }: Send): Readonly<Record<string, string>> {
    const error = this.hasFault || this.crashed ? 'fault' : 'none';
    // After the stop the vehicle is not ready, and says so.
    const ready = this.hasFault || this.stopsSaid > 0 ? 'no' : 'yes';
    return message === 'ChargeParameterDiscoveryReq' ? { error } : { error, ready };
  }

  numbers({ message }: Wanted, at_ns: number): Partial<Numbers> {
    const { battery_V, stateOfCharge_percent } = this.senses;
    const { limits, preCharge_A, vehicleId, errorCode } = this.settings;
    const approaches = message === 'PreChargeReq';
    if (message === 'CurrentDemandReq') this.demand.asked(at_ns);
    return {
      stateOfCharge_percent: stateOfCharge_percent ?? 0,
      vehicleLimits: limits,
      targetVoltage_V: approaches ? (battery_V ?? 0) : limits.voltage_V,
      targetCurrent_A: approaches ? preCharge_A : this.demand.current_A,
      vehicleId,
      errorCode,
      ...(this.sessionId === undefined ? {} : { sessionId: this.sessionId }),
    };
  }

  /** Decides on the current of the next request, by everything sensed until now. */
  consider(at_ns: number): void {
    this.demand.consider(at_ns, this.senses, {
      limits: this.settings.limits,
      charger: this.chargerLimits,
      stops: this.wantsStop(),
    });
  }

  sent({ act }: Reading): void {
    if (act === 'end') this.endsSaid += 1;
    if (act === 'weld check') this.weldChecks += 1;
    if (act === 'stop') this.stopsSaid += 1;
  }

  drove(what: string, to: string, at_ns: number): void {
    if (what === 'contactors') this.opened_ns = to === 'open' ? at_ns : null;
  }

  output(): null {
    return null;
  }
}
