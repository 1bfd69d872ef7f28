// The charger between its machine and its power stage: what it reports, what it holds, how its isolation test ends.
import { isolationClass } from '../facts/isolation-class.ts';
import type { Limits, Reading } from '../facts/reading.ts';
import type { MachineEvent, Send } from '../machine/convention.ts';
import type { Numbers } from '../protocols/system-c/compose.ts';
import { chargerHabits } from './charger-habits.ts';
import type { ChargerMind, ChargerSettings } from './charger-settings.ts';
import type { Control, SetPoint } from './control.ts';
import type { Senses } from './senses.ts';
import type { Sight } from './side.ts';
import type { Strategy } from './strategy.ts';

export function createChargerControl(
  settings: ChargerSettings,
): (senses: Readonly<Senses>) => ChargerControl {
  return (senses) => new ChargerControl(settings, senses);
}

type Class = ReturnType<typeof isolationClass>;

export class ChargerControl implements Control, ChargerMind {
  readonly settings: ChargerSettings;
  readonly habits: Strategy;
  testing_ns: number | null = null;
  authorizing_ns: number | null = null;
  private readonly senses: Readonly<Senses>;
  private mode: SetPoint['to'] = 'off';
  /** What this session's test ended with; null before. */
  private tested: Class | null = null;
  private stopped = false;
  private emergency = false;
  private target_V = 0;
  private target_A = 0;
  private readonly vehicleLimits: Limits = {};
  private energy_Wh = 0;
  private metered_ns: number | null = null;

  constructor(settings: ChargerSettings, senses: Readonly<Senses>) {
    this.settings = settings;
    this.senses = senses;
    this.habits = chargerHabits(this);
  }

  facts(type: string): Readonly<Record<string, string>> {
    if (type === 'choose.finish test') return { isolation: this.measured(), status: 'ready' };
    return {
      pilot: this.pilot(type),
      isolation: this.isolation(),
      status: this.status(),
      notification: this.senses.alarm === 'stop asked' ? 'stop now' : 'none',
      code: 'failed',
    };
  }

  private pilot(type: string): string {
    const { pilot } = this.senses;
    // With a choice it tells only whether it has seen C (or D) or not.
    if (type.startsWith('choose.')) return pilot === 'C' || pilot === 'D' ? 'C' : 'B';
    return pilot ?? 'A';
  }

  private measured(): Class {
    const { isolation_ohm } = this.senses;
    if (isolation_ohm === null) return 'fault';
    return isolationClass(isolation_ohm, this.settings.ratedVoltage_V);
  }

  /** Only the test makes it valid; the monitor may lower it at any time. */
  private isolation(): string {
    if (this.tested === null) return 'invalid';
    const now = this.measured();
    if (this.tested === 'fault' || now === 'fault') return 'fault';
    return this.tested === 'warning' || now === 'warning' ? 'warning' : 'valid';
  }

  private status(): string {
    if (this.emergency) return 'emergency';
    if (this.testing_ns !== null) return 'monitoring';
    if (this.tested === null || this.stopped) return 'not ready';
    return 'ready';
  }

  heard({ act, name, at_ns, limits, targetVoltage_V, targetCurrent_A }: Reading): void {
    this.target_V = targetVoltage_V ?? this.target_V;
    this.target_A = targetCurrent_A ?? this.target_A;
    Object.assign(this.vehicleLimits, limits);
    const asks = name === 'AuthorizationReq' || name === 'ContractAuthenticationReq';
    if (asks) this.authorizing_ns ??= at_ns;
    if (name === 'PowerDeliveryReq') this.stopped = act === 'stop';
  }

  signals(sight: Sight): readonly MachineEvent[] {
    if (sight.kind === 'current') this.meter(sight.at_ns);
    if (sight.kind === 'pilot') return [{ type: 'sense.pilot', pilot: this.senses.pilot ?? 'A' }];
    const bad = ['emergency', 'fault', 'crash'];
    if (sight.kind !== 'alarm' || !bad.includes(sight.alarm) || this.emergency) return [];
    this.emergency = true;
    return [{ type: 'signal.emergency' }];
  }

  private meter(at_ns: number): void {
    const { current_A, output_V } = this.senses;
    const passed_h = this.metered_ns === null ? 0 : (at_ns - this.metered_ns) / 3.6e12;
    this.energy_Wh += (current_A ?? 0) * (output_V ?? 0) * passed_h;
    this.metered_ns = at_ns;
  }

  overdue(): { events: readonly MachineEvent[]; wakeAt_ns: null } {
    return NOTHING;
  }

  usual({ message }: Send): Readonly<Record<string, string>> {
    const early = message === 'ChargeParameterDiscoveryRes' || message === 'CableCheckRes';
    if (early) return this.tested === null ? {} : { isolation: this.isolation() };
    return { isolation: this.isolation(), status: this.status() };
  }

  numbers(): Partial<Numbers> {
    const { limits, minimum, ripple_A, chargerId, sessionId } = this.settings;
    const { output_V, current_A } = this.senses;
    const [present_V, present_A] = [Math.max(0, output_V ?? 0), current_A ?? 0];
    const power_W = limits.power_W ?? Infinity;
    return {
      chargerLimits: limits,
      minimum,
      ripple_A,
      chargerId,
      sessionId,
      presentVoltage_V: present_V,
      presentCurrent_A: present_A,
      reached: {
        voltage: this.target_V > limits.voltage_V,
        current: this.target_A > limits.current_A,
        power: this.target_A * present_V > power_W,
      },
      meter_Wh: this.energy_Wh,
    };
  }

  sent({ act, ok, processing }: Reading): void {
    if (act === 'test' && ok === true && processing === 'finished') this.tested = this.measured();
  }

  drove(what: string, to: string, at_ns: number): void {
    if (what !== 'output') return;
    this.mode = to as SetPoint['to'];
    this.testing_ns = to === 'test' ? (this.testing_ns ?? at_ns) : null;
  }

  output(): SetPoint {
    const { settings, mode, target_V, target_A } = this;
    const { limits } = settings;
    const most_V = Math.min(limits.voltage_V, this.vehicleLimits.voltage_V ?? Infinity);
    if (mode === 'off') return { to: mode, voltage_V: 0, current_A: 0 };
    if (mode === 'test') {
      const voltage_V = Math.min(most_V, settings.testVoltage_V);
      return { to: mode, voltage_V, current_A: settings.testCurrent_A };
    }
    const voltage_V = Math.min(most_V, target_V);
    if (mode === 'precharge') {
      return { to: mode, voltage_V, current_A: Math.min(settings.preCharge_A, target_A) };
    }
    return { to: mode, voltage_V, current_A: this.allowed(target_A) };
  }

  private allowed(target_A: number): number {
    const { limits } = this.settings;
    const vehicle = this.vehicleLimits;
    const at_V = this.senses.output_V ?? 0;
    const power_W = Math.min(limits.power_W ?? Infinity, vehicle.power_W ?? Infinity);
    const byPower_A = at_V > 0 ? power_W / at_V : Infinity;
    // Whole tenths: a set point that trembles with the voltage is no news to the power stage.
    const most_A = Math.min(limits.current_A, vehicle.current_A ?? Infinity, byPower_A);
    return Math.floor(10 * Math.max(0, Math.min(target_A, most_A))) / 10;
  }
}

const NOTHING = Object.freeze({ events: [], wakeAt_ns: null });
