// The light pack of a plan: as it is at half charge, and with a weakest cell that a plan may declare full.
import { readMessage } from '../../protocols/system-c/reading.ts';
import { protocols } from '../../protocols/index.ts';
import type { PackModel } from '../../simulate/plant.ts';
import type { SendMessage } from '../../simulate/side.ts';

/** More than a vehicle asks for by mistake of rounding. */
const ASKS_ON_A = 5;
const OVER_V = 0.05;
/** Of a cell at half charge; the pack is as many of them as its voltage needs. */
const CELL_V = 3.75;
const CELL_ohm = 0.001;

export class FullPack implements PackModel {
  /** Its weakest cell is at the limit from now on. */
  full = false;
  restVoltage_V = 0;
  resistance_ohm = 0;
  readonly hottest_C = 20;
  readonly coldest_C = 20;
  readonly stateOfCharge = 0.5;
  readonly lowestCell_V = CELL_V;
  readonly #limit_V: number;
  #over = false;

  constructor(limit_V: number) {
    this.#limit_V = limit_V;
  }

  get highestCell_V(): number {
    if (!this.full) return CELL_V;
    return this.#over ? this.#limit_V + OVER_V : this.#limit_V;
  }

  /** A few seconds of charge change nothing. */
  step(): void {}

  set voltage_V(voltage_V: number) {
    this.restVoltage_V = voltage_V;
    this.resistance_ohm = (voltage_V / CELL_V) * CELL_ohm;
  }

  /** A vehicle that asks for current though its cell is full drives it over its limit. */
  heed(message: Omit<SendMessage, 'do'>): void {
    if (message.name !== 'CurrentDemandReq') return;
    const observation = { ...message, kind: 'message', at_ns: 0, from: 'vehicle' } as const;
    const { targetCurrent_A = 0 } = readMessage(observation, protocols.din70121.dialect);
    if (targetCurrent_A > ASKS_ON_A) this.#over = true;
  }
}
