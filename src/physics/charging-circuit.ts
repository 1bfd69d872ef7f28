// The high-voltage circuit of one session: power stage and output capacitor – the charger's contactor – cable and inlet
// capacitor – the vehicle's two contactors – pack. Charging current positive.
//
//   const circuit = new ChargingCircuit({ charger: CHARGER_150_KW, pack, ... });
//   circuit.stage.command('on', 400, 2); circuit.chargerContactor.command('closed');
//   circuit.vehiclePositive.command('closed'); circuit.vehicleNegative.command('closed');
//   circuit.discharging = true;        // the charger's discharge resistor across its output
//   circuit.step(dt_s);                // 1 ms, or any other step
//   circuit.output_V, inlet_V, battery_V, current_A (into the pack), cable_A, joined, hardestStrike
//   circuit.contacts (heat of the connector), isolation (rails to earth, stepped along), pack, stage
//
// A step is exact for the capacitors, cable and contacts (RcPair) while stage and pack stand still for its length; the
// stage is told what the circuit will answer, so constant voltage is met at the end of the step, not chased.
import { ChargerStage, type ChargerDesign } from './charger-stage.ts';
import { copperResistance_ohm } from './conductor.ts';
import { ContactHeat } from './contact-heat.ts';
import { Contactor, CONTACTOR_400_A, type ContactorDesign } from './contactor.ts';
import { inrushPeak, jouleIntegral_A2s } from './inrush.ts';
import { IsolationPath, type IsolationOptions } from './isolation-path.ts';
import type { Pack } from './pack.ts';
import { RcPair } from './rc-pair.ts';

export interface CircuitOptions {
  readonly charger: ChargerDesign;
  readonly pack: Pack;
  readonly contactor?: ContactorDesign;
  /** Two conductors of this length and area. Our choice: 5 m of 70 mm². */
  readonly cable?: { readonly length_m: number; readonly area_mm2: number };
  readonly output_F?: number;
  readonly inlet_F?: number;
  /** Across the output while `discharging`, and always across output and inlet (meters, passive bleeders). */
  readonly discharge_ohm?: number;
  readonly passive_ohm?: number;
  /** Beside the charger's contactor, while `preCharging`. */
  readonly preCharge_ohm?: number;
  readonly inductance_H?: number;
  readonly rated_A?: number;
  readonly ambient_C?: number;
  readonly isolation?: IsolationOptions;
}

/** All of them our choices, in the range of what is usual. */
const DEFAULTS = {
  cable: { length_m: 5, area_mm2: 70 },
  output_F: 100e-6,
  inlet_F: 20e-6,
  // Brings 1000 V on 120 µF to 60 V within 1 s, with room: 2.96 kΩ would do.
  discharge_ohm: 2000,
  passive_ohm: 1e6,
  preCharge_ohm: 50,
  inductance_H: 5e-6,
  rated_A: 250,
  ambient_C: 25,
  isolation: { positive_ohm: 5e6, negative_ohm: 5e6, yPositive_F: 0.3e-6, yNegative_F: 0.3e-6 },
};

/** Two contacts of a new connector, one a pole (0.05 to 0.2 mΩ each, from memory). */
const CONNECTOR_ohm = 2 * 0.1e-3;

/** What rushed through the vehicle's contactors when they closed the circuit. */
export interface Strike {
  readonly difference_V: number;
  readonly peak_A: number;
  readonly i2t_A2s: number;
}

export class ChargingCircuit {
  readonly stage: ChargerStage;
  readonly chargerContactor: Contactor;
  readonly vehiclePositive: Contactor;
  readonly vehicleNegative: Contactor;
  readonly pack: Pack;
  readonly contacts: ContactHeat;
  readonly isolation: IsolationPath;
  discharging = false;
  preCharging = false;
  /** Means over the last step: into the pack, and through the cable. */
  current_A = 0;
  cable_A = 0;
  /** Of all closings so far. */
  hardestStrike: Strike | null = null;
  /** Coulombs that the stage has fed, and that leaked or were discharged. */
  fed_C = 0;
  leaked_C = 0;

  readonly #pair: RcPair;
  readonly #cable_ohm: number;
  readonly #discharge_S: number;
  readonly #passive_S: number;
  readonly #preCharge_ohm: number;
  readonly #inductance_H: number;

  constructor(options: CircuitOptions) {
    const chosen = { ...DEFAULTS, ...options };
    const { contactor = CONTACTOR_400_A } = options;
    this.stage = new ChargerStage(options.charger);
    this.pack = options.pack;
    this.chargerContactor = new Contactor(contactor);
    this.vehiclePositive = new Contactor(contactor);
    this.vehicleNegative = new Contactor(contactor);
    this.contacts = new ContactHeat({ rated_A: chosen.rated_A, ambient_C: chosen.ambient_C });
    this.isolation = new IsolationPath(chosen.isolation);
    this.#pair = new RcPair(chosen.output_F, chosen.inlet_F);
    const { length_m, area_mm2 } = chosen.cable;
    this.#cable_ohm = copperResistance_ohm(2 * length_m, area_mm2) + CONNECTOR_ohm;
    this.#discharge_S = 1 / chosen.discharge_ohm;
    this.#passive_S = 1 / chosen.passive_ohm;
    this.#preCharge_ohm = chosen.preCharge_ohm;
    this.#inductance_H = chosen.inductance_H;
  }

  get output_V(): number {
    return this.#pair.voltage_V[0]!;
  }

  get inlet_V(): number {
    return this.#pair.voltage_V[1]!;
  }

  get battery_V(): number {
    return this.pack.voltage_V;
  }

  /** Both of the vehicle's contactors conduct. */
  get joined(): boolean {
    return this.vehiclePositive.conducts && this.vehicleNegative.conducts;
  }

  /** From output to inlet; Infinity while the charger's side is open. */
  get #link_ohm(): number {
    if (this.chargerContactor.conducts) {
      return this.#cable_ohm + 2 * this.chargerContactor.design.resistance_ohm;
    }
    return this.preCharging ? this.#cable_ohm + this.#preCharge_ohm : Infinity;
  }

  get #packLoop_ohm(): number {
    return this.pack.resistance_ohm + 2 * this.vehiclePositive.design.resistance_ohm;
  }

  step(dt_s: number): void {
    this.#moveContactors(dt_s);
    const pair = this.#pair;
    const output_S = this.#passive_S + (this.discharging ? this.#discharge_S : 0);
    const pack_S = this.joined ? 1 / this.#packLoop_ohm : 0;
    const rest_V = this.pack.restVoltage_V;
    const link_S = 1 / this.#link_ohm;
    pair.prepare(dt_s, output_S, link_S, this.#passive_S + pack_S);
    const fromPack_A = pack_S * rest_V;
    const fed_A = this.stage.step(dt_s, pair.rest_V(fromPack_A), pair.gain_ohm, this.output_V);
    pair.step(fed_A, fromPack_A);
    const [output_V, inlet_V] = pair.mean_V as unknown as [number, number];
    this.current_A = pack_S > 0 ? pack_S * (inlet_V - rest_V) : 0;
    this.cable_A = link_S > 0 ? link_S * (output_V - inlet_V) : 0;
    this.fed_C += fed_A * dt_s;
    this.leaked_C += (output_S * output_V + this.#passive_S * inlet_V) * dt_s;
    this.pack.step(dt_s, this.current_A);
    this.contacts.step(dt_s, this.cable_A);
    this.isolation.step(dt_s, this.inlet_V);
  }

  /** Charge on both capacitors: what was fed is there, has leaked, or is in the pack. */
  get stored_C(): number {
    const { capacitance_F, voltage_V } = this.#pair;
    return capacitance_F[0]! * voltage_V[0]! + capacitance_F[1]! * voltage_V[1]!;
  }

  #moveContactors(dt_s: number): void {
    const { chargerContactor, vehiclePositive, vehicleNegative } = this;
    const before = this.joined;
    chargerContactor.step(dt_s);
    vehiclePositive.step(dt_s);
    vehicleNegative.step(dt_s);
    if (before && !this.joined) {
      // The first to part breaks the current.
      const parted = vehiclePositive.parts ? vehiclePositive : vehicleNegative;
      if (parted.parts) parted.arc(this.current_A, this.battery_V);
    }
    if (this.joined && vehiclePositive.touches + vehicleNegative.touches > 0) this.#strike();
    if (chargerContactor.parts) chargerContactor.arc(this.cable_A, this.output_V);
  }

  /** The contact that closes the circuit takes the strike; a battery counts as endless, the charger's capacitor as near. */
  #strike(): void {
    const [output_F, inlet_F] = this.#pair.capacitance_F as unknown as [number, number];
    const difference_V = this.inlet_V - this.pack.restVoltage_V;
    const loop = {
      capacitance_F: inlet_F + (this.#link_ohm < Infinity ? output_F : 0),
      resistance_ohm: this.#packLoop_ohm,
      inductance_H: this.#inductance_H,
    };
    const i2t_A2s = jouleIntegral_A2s(difference_V, loop);
    if (this.hardestStrike === null || i2t_A2s > this.hardestStrike.i2t_A2s) {
      const { peak_A } = inrushPeak(difference_V, loop);
      this.hardestStrike = { difference_V, peak_A, i2t_A2s };
    }
    const last = this.vehicleNegative.touches > 0 ? this.vehicleNegative : this.vehiclePositive;
    last.strike(i2t_A2s);
  }
}
