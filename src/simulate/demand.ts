// What a vehicle asks for: constant current, then less and less so that its fullest cell stays at its limit (a pack is
// charged by its weakest cell), never more than a cold or hot pack may take, nor than the charger gives.
import type { SideLimits } from '../protocols/system-c/body-parts.ts';
import type { Senses } from './senses.ts';

export interface DemandSettings {
  /** End of charge of a cell. */
  readonly cellLimit_V: number;
  /** Below the limit by this much the current begins to fall. */
  readonly taper_V: number;
  /** How much a cell's voltage rises with the pack's current, about. */
  readonly cellResistance_ohm: number;
  /** Charging is over when the taper comes down to this. */
  readonly cutOff_A: number;
  /** How fast it asks for more, and for less. */
  readonly rise_A_per_s: number;
  readonly fall_A_per_s: number;
  /** The most it takes by its coldest and its hottest cell: pairs of temperature and current, rising by temperature. */
  readonly byTemperature: readonly (readonly [temperature_C: number, current_A: number])[];
}

interface Surroundings {
  readonly limits: SideLimits;
  readonly charger: Partial<SideLimits>;
  readonly stops: boolean;
}

export interface Demand {
  readonly current_A: number;
  /** The taper is over. */
  readonly isDone: boolean;
  isFull(senses: Readonly<Senses>): boolean;
  /** Sets `current_A` for a request at this time; may be called anew until the request is made. */
  consider(at_ns: number, senses: Readonly<Senses>, around: Surroundings): void;
  /** The request was made. */
  asked(at_ns: number): void;
}

export function createDemand(settings: DemandSettings): Demand {
  return new CellDemand(settings);
}

class CellDemand implements Demand {
  current_A = 0;
  isDone = false;
  private readonly settings: DemandSettings;
  private tapers = false;
  private last_ns: number | null = null;
  private asked_A = 0;

  constructor(settings: DemandSettings) {
    this.settings = settings;
  }

  isFull({ highestCell_V }: Readonly<Senses>): boolean {
    return highestCell_V !== null && highestCell_V >= this.settings.cellLimit_V;
  }

  asked(at_ns: number): void {
    this.last_ns = at_ns;
    this.asked_A = this.current_A;
  }

  consider(at_ns: number, senses: Readonly<Senses>, around: Surroundings): void {
    const { rise_A_per_s, fall_A_per_s, cutOff_A } = this.settings;
    const passed_s = this.last_ns === null ? 0 : (at_ns - this.last_ns) / 1e9;
    const most_A = around.stops ? 0 : this.most(senses, around);
    const least_A = Math.max(0, this.asked_A - fall_A_per_s * passed_s);
    const first_A = this.last_ns === null ? Math.min(most_A, 1) : this.asked_A;
    const risen_A = first_A + rise_A_per_s * passed_s;
    // A cell over its limit takes the demand back at once.
    const next_A = this.isFull(senses) ? 0 : Math.max(least_A, Math.min(most_A, risen_A));
    this.current_A = Math.round(next_A * 10) / 10;
    if (this.tapers && this.current_A <= cutOff_A) this.isDone = true;
  }

  private most(senses: Readonly<Senses>, { limits, charger }: Surroundings): number {
    const { battery_V } = senses;
    const powers = [limits.power_W, charger.power_W].filter((power) => power !== undefined);
    const byPower_A =
      battery_V === null || battery_V <= 0 ? Infinity : Math.min(Infinity, ...powers) / battery_V;
    const most_A = Math.min(
      limits.current_A,
      charger.current_A ?? Infinity,
      byPower_A,
      this.byTemperature(senses),
    );
    return Math.max(0, Math.min(most_A, this.byCells(senses, most_A)));
  }

  private byTemperature({ coldest_C, hottest_C }: Readonly<Senses>): number {
    const { byTemperature } = this.settings;
    const at = (temperature_C: number): number =>
      byTemperature.findLast(([from_C]) => temperature_C >= from_C)?.[1] ?? 0;
    const cold = coldest_C === null ? Infinity : at(coldest_C);
    return Math.min(cold, hottest_C === null ? Infinity : at(hottest_C));
  }

  /** Half of what the highest cell's headroom allows, each time: the charger follows late. */
  private byCells({ highestCell_V, current_A }: Readonly<Senses>, most_A: number): number {
    if (highestCell_V === null) return most_A;
    const { cellLimit_V, taper_V, cellResistance_ohm } = this.settings;
    const headroom_V = cellLimit_V - taper_V - highestCell_V;
    const now_A = current_A === null ? this.asked_A : Math.min(current_A, this.asked_A);
    const allowed_A = now_A + (0.5 * headroom_V) / cellResistance_ohm;
    if (allowed_A < most_A && headroom_V < taper_V) this.tapers = true;
    return allowed_A;
  }
}
