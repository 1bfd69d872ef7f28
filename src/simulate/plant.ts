// Cable, contactors and power stage around the pack, in virtual time. Between two events everything is linear or an
// exponential, so a step is exact however long it is, but for the pack, which is stepped at most 50 ms at a time.
import type { Pack } from '../physics/pack.ts';
import type { Command } from './side.ts';
import { approach, Switch } from './switch.ts';

/** What the plant asks of a pack; src/physics has it cell by cell. */
export type PackModel = Pick<
  Pack,
  | 'step'
  | 'restVoltage_V'
  | 'resistance_ohm'
  | 'lowestCell_V'
  | 'highestCell_V'
  | 'hottest_C'
  | 'coldest_C'
  | 'stateOfCharge'
>;

export interface PlantSettings {
  /** How fast the power stage follows a new set point; a vehicle may count on 20 A/s (IEC 61851-23 101.2.1). */
  readonly rise_A_per_s: number;
  readonly fall_A_per_s: number;
  /** When it is switched off. */
  readonly off_A_per_s: number;
  readonly voltageRise_V_per_s: number;
  /** Output and cable discharge by resistor: 60 V within a second from 500 V is the bound (IEC 61851-23 7.2.3.2). */
  readonly dischargeTime_s: number;
  readonly cable_ohm: number;
  readonly closes_ms: number;
  readonly opens_ms: number;
  readonly locks_ms: number;
  readonly isolation_ohm: number;
  /** By how much the stage's own voltmeter reads high: it holds that much less. */
  readonly holdsLow_V: number;
}

const PACK_STEP_s = 0.05;
const STAGE_OFF: Extract<Command, { do: 'output' }> = {
  do: 'output',
  to: 'off',
  voltage_V: 0,
  current_A: 0,
};

export class Plant {
  readonly pack: PackModel;
  readonly contactors: Switch<'open' | 'closed'>;
  readonly lock: Switch<'locked' | 'unlocked'>;
  readonly settings: PlantSettings;
  plugged = true;
  vehicleSwitch: 'B' | 'C' = 'B';
  oscillator = true;
  stage = STAGE_OFF;
  current_A = 0;
  /** Output, cable and inlet up to the vehicle's contactors. */
  node_V = 0;
  energy_Wh = 0;
  private isolation: { from_ns: number; from_ohm: number; to_ohm: number; over_ns: number };
  private at_ns: number;

  constructor(settings: PlantSettings, pack: PackModel, at_ns: number) {
    const { closes_ms, opens_ms, locks_ms, isolation_ohm } = settings;
    this.settings = settings;
    this.pack = pack;
    this.contactors = new Switch<'open' | 'closed'>('open', { open: opens_ms, closed: closes_ms });
    this.lock = new Switch<'locked' | 'unlocked'>('unlocked', {
      locked: locks_ms,
      unlocked: locks_ms,
    });
    this.isolation = {
      from_ns: at_ns,
      from_ohm: isolation_ohm,
      to_ohm: isolation_ohm,
      over_ns: 1,
    };
    this.at_ns = at_ns;
  }

  /** At the pack's terminals. */
  get battery_V(): number {
    return this.pack.restVoltage_V + this.pack.resistance_ohm * this.current_A;
  }

  get output_V(): number {
    return this.node_V + this.current_A * this.settings.cable_ohm;
  }

  get pilot(): 'A' | 'B' | 'C' {
    return this.plugged ? this.vehicleSwitch : 'A';
  }

  isolation_ohm(): number {
    const { from_ns, from_ohm, to_ohm, over_ns } = this.isolation;
    const share = Math.min(1, Math.max(0, (this.at_ns - from_ns) / over_ns));
    // A leak grows in its conductance: halfway there is halfway in 1/R.
    return 1 / (1 / from_ohm + share * (1 / to_ohm - 1 / from_ohm));
  }

  driftIsolation(to_ohm: number, over_s: number): void {
    const over_ns = Math.max(1, over_s * 1e9);
    this.isolation = {
      from_ns: this.at_ns,
      from_ohm: this.isolation_ohm(),
      to_ohm,
      over_ns,
    };
  }

  command(command: Command): void {
    switch (command.do) {
      case 'contactors':
        this.contactors.drive(command.to, this.at_ns);
        return;
      case 'lock':
        this.lock.drive(command.to, this.at_ns);
        return;
      case 'pilot':
        if (command.to === 'B' || command.to === 'C') this.vehicleSwitch = command.to;
        else this.oscillator = command.to === 'X2';
        return;
      case 'output':
        this.stage = command;
    }
  }

  /** When something moves by itself: a contactor or the lock arrives, or the current of a stage switched off is gone. */
  next_ns(): number {
    return Math.min(this.contactors.due_ns, this.lock.due_ns, this.gone_ns());
  }

  /** Whether a contactor or the lock arrives by then. */
  switches(at_ns: number): boolean {
    return Math.min(this.contactors.due_ns, this.lock.due_ns) <= at_ns;
  }

  private gone_ns(): number {
    const { current_A, contactors, stage, settings } = this;
    if (current_A <= 0 || contactors.state === 'open' || stage.to !== 'off') return Infinity;
    return this.at_ns + Math.ceil((current_A / settings.off_A_per_s) * 1e9);
  }

  /** Goes on to `to_ns`; switches arrive on the way. */
  advance(to_ns: number): void {
    while (this.at_ns < to_ns) {
      const until_ns = Math.min(to_ns, Math.max(this.at_ns, this.next_ns()));
      this.run(until_ns);
      this.contactors.arrive(until_ns);
      this.lock.arrive(until_ns);
    }
  }

  private run(to_ns: number): void {
    while (this.at_ns < to_ns) {
      const step_s = Math.min(PACK_STEP_s, (to_ns - this.at_ns) / 1e9);
      if (this.contactors.state === 'closed') this.charge(step_s);
      else this.hold(step_s);
      this.at_ns = Math.min(to_ns, Math.round(this.at_ns + step_s * 1e9));
    }
  }

  /** Contactors closed: the node is the battery, and the stage controls the current. */
  private charge(step_s: number): void {
    const { pack, settings, stage } = this;
    const { rise_A_per_s, fall_A_per_s, off_A_per_s, cable_ohm } = settings;
    const delivers = stage.to === 'on' || stage.to === 'precharge';
    const byVoltage_A = (stage.voltage_V - pack.restVoltage_V) / (pack.resistance_ohm + cable_ohm);
    const goal_A = delivers ? Math.max(0, Math.min(stage.current_A, byVoltage_A)) : 0;
    const fall = delivers ? fall_A_per_s : off_A_per_s;
    const slope = goal_A > this.current_A ? rise_A_per_s : fall;
    const before_A = this.current_A;
    this.current_A = approach(before_A, goal_A, slope * step_s);
    const mean_A = (before_A + this.current_A) / 2;
    pack.step(step_s, mean_A);
    this.node_V = this.battery_V;
    this.energy_Wh += (mean_A * this.node_V * step_s) / 3600;
  }

  /** Contactors open: the stage charges its output and the cable, or a resistor discharges them. */
  private hold(step_s: number): void {
    const { settings, stage } = this;
    this.current_A = 0;
    this.pack.step(step_s, 0);
    const goal_V = stage.to === 'off' ? 0 : Math.max(0, stage.voltage_V - settings.holdsLow_V);
    if (goal_V >= this.node_V) {
      this.node_V = approach(this.node_V, goal_V, settings.voltageRise_V_per_s * step_s);
    } else {
      const rest_V = this.node_V - goal_V;
      this.node_V = goal_V + rest_V * Math.exp(-step_s / settings.dischargeTime_s);
    }
  }
}
