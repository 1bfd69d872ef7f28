// A charger's power stage: a source that holds the asked voltage or the asked current, whichever is less, inside its own
// limits and ramps. Its regulator is taken to settle within a step; what takes longer is ramped.
//
//   stage.command('on', voltage_V, current_A) · command('off') · command('emergency')
//   const fed_A = stage.step(dt_s, rest_V, gain_ohm, output_V);   // mean current into the output over the step
//   stage.current_A (without ripple), stage.holds: 'nothing' | 'voltage' | 'current' | 'power', stage.time_s
//
// rest_V and gain_ohm are what the circuit answers (RcPair): the output at the end of the step is rest_V + gain_ohm · fed_A.

export interface ChargerDesign {
  readonly highest_V: number;
  readonly highest_A: number;
  readonly highest_W: number;
  /** At least 20 A/s (IEC 61851-23:2014, 101.2.1, from memory). */
  readonly rise_A_per_s: number;
  /** At least 100 A/s in a normal stop (the same, from memory). */
  readonly fall_A_per_s: number;
  /** At least 200 A/s, and 5 A within 30 ms when the pilot is lost (the same, from memory, low). */
  readonly emergencyFall_A_per_s: number;
  /** At most 20 V/ms (the same, from memory). */
  readonly slew_V_per_s: number;
  /** Errors of what is delivered: shares of the asked values, and amperes. */
  readonly voltageError?: number;
  readonly currentError?: number;
  readonly currentOffset_A?: number;
  /** Peak to peak; at most 1.5 A below 10 Hz, 6 A below 5 kHz, 9 A below 150 kHz (the same, from memory). */
  readonly ripple_A?: number;
  readonly ripple_Hz?: number;
}

/** A 150 kW charger, faster than the standard's least. Our choice. */
export const CHARGER_150_KW: ChargerDesign = {
  highest_V: 920,
  highest_A: 500,
  highest_W: 150_000,
  rise_A_per_s: 100,
  fall_A_per_s: 250,
  emergencyFall_A_per_s: 25_000,
  slew_V_per_s: 10_000,
};

type Mode = 'off' | 'on' | 'emergency';

export class ChargerStage {
  readonly design: ChargerDesign;
  mode: Mode = 'off';
  holds: 'nothing' | 'voltage' | 'current' | 'power' = 'nothing';
  current_A = 0;
  time_s = 0;
  #wanted_V = 0;
  #wanted_A = 0;
  /** What ramps allow now. */
  #limit_A = 0;
  #setpoint_V = 0;
  #byPower = false;

  constructor(design: ChargerDesign) {
    this.design = design;
  }

  command(mode: Mode, voltage_V = 0, current_A = 0): void {
    if (!(voltage_V >= 0 && current_A >= 0)) {
      throw new RangeError(`a charger cannot be asked for ${voltage_V} V, ${current_A} A`);
    }
    const { highest_V, voltageError = 0 } = this.design;
    this.mode = mode;
    this.#wanted_V = Math.min(voltage_V, highest_V) * (1 + voltageError);
    this.#wanted_A = mode === 'on' ? current_A : 0;
  }

  step(dt_s: number, rest_V: number, gain_ohm: number, output_V: number): number {
    const { rise_A_per_s } = this.design;
    if (this.mode === 'on') this.#slew(dt_s);
    else if (this.current_A === 0) this.#setpoint_V = output_V;
    this.#ramp(dt_s, this.#asked_A(output_V));
    const risen_A = Math.min(this.#limit_A, this.current_A + rise_A_per_s * dt_s);
    const regulated_A = Math.max(0, (this.#setpoint_V - rest_V) / gain_ohm);
    this.current_A = Math.min(risen_A, regulated_A);
    this.holds = this.#holding(regulated_A <= risen_A);
    const ripple_A = this.#ripple_A(dt_s);
    this.time_s += dt_s;
    return this.current_A + ripple_A;
  }

  /** A stage that was off starts from the voltage that it finds. */
  #slew(dt_s: number): void {
    const most_V = this.design.slew_V_per_s * dt_s;
    const change_V = this.#wanted_V - this.#setpoint_V;
    this.#setpoint_V += Math.max(-most_V, Math.min(most_V, change_V));
  }

  #asked_A(output_V: number): number {
    const { highest_A, highest_W, currentError = 0, currentOffset_A = 0 } = this.design;
    this.#byPower = false;
    if (this.#wanted_A === 0) return 0;
    const delivered_A = this.#wanted_A * (1 + currentError) + currentOffset_A;
    const asked_A = Math.max(0, Math.min(delivered_A, highest_A));
    const power_A = highest_W / Math.max(output_V, 1);
    this.#byPower = power_A < asked_A;
    return Math.min(asked_A, power_A);
  }

  #ramp(dt_s: number, wanted_A: number): void {
    const { fall_A_per_s, emergencyFall_A_per_s } = this.design;
    const fall_A_per_step =
      (this.mode === 'emergency' ? emergencyFall_A_per_s : fall_A_per_s) * dt_s;
    // From where the current is: a limit that the voltage kept it from needs no ramp.
    const from_A = Math.min(this.#limit_A, this.current_A);
    this.#limit_A = wanted_A >= from_A ? wanted_A : Math.max(wanted_A, from_A - fall_A_per_step);
  }

  #holding(byVoltage: boolean): ChargerStage['holds'] {
    if (this.mode !== 'on') return 'nothing';
    if (byVoltage) return 'voltage';
    return this.#byPower ? 'power' : 'current';
  }

  /** Mean of a sine over the step: right at any step, whatever its frequency. None when it would turn the current. */
  #ripple_A(dt_s: number): number {
    const { ripple_A = 0, ripple_Hz = 0 } = this.design;
    if (ripple_A === 0 || ripple_Hz === 0 || this.current_A < ripple_A / 2) return 0;
    const rate = 2 * Math.PI * ripple_Hz;
    const begun = rate * this.time_s;
    return ((ripple_A / 2) * (Math.cos(begun) - Math.cos(begun + rate * dt_s))) / (rate * dt_s);
  }
}

/** How far the current may be off: 2.5 A up to 50 A, 5 % above (IEC 61851-23:2014, 101.2.1, from memory). */
export function permittedCurrentError_A(asked_A: number): number {
  return asked_A <= 50 ? 2.5 : 0.05 * asked_A;
}
