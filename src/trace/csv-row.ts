import type { ObservationOf } from './fields.ts';
import type { Observation } from './observation.ts';

export type PilotState = ObservationOf<'pilot'>['state'];

/** Rows of a log on their way to observations. */
export class CsvRow {
  at_ns = 0;
  private observations: Observation[] = [];
  private pilotState: PilotState | undefined;
  private pilotOfRow: ObservationOf<'pilot'> | undefined;
  private cellsOfRow: ObservationOf<'cells'> | undefined;

  begin(at_ns: number): void {
    this.at_ns = at_ns;
    this.pilotOfRow = undefined;
    this.cellsOfRow = undefined;
  }

  push(observation: Observation): void {
    this.observations.push(observation);
  }

  /** What has come together since the last call. */
  taken(): Observation[] {
    const { observations } = this;
    this.observations = [];
    return observations;
  }

  /** The row's one observation of the pilot; its state is the given one, or the last before it if there was any. */
  pilot(state = this.pilotState): ObservationOf<'pilot'> | undefined {
    this.pilotState = state;
    if (state === undefined || this.pilotOfRow !== undefined) return this.pilotOfRow;
    this.pilotOfRow = { kind: 'pilot', at_ns: this.at_ns, state };
    this.observations.push(this.pilotOfRow);
    return this.pilotOfRow;
  }

  /** The row's one observation of the battery's cells. */
  cells(): ObservationOf<'cells'> {
    if (this.cellsOfRow === undefined) {
      this.cellsOfRow = { kind: 'cells', at_ns: this.at_ns };
      this.observations.push(this.cellsOfRow);
    }
    return this.cellsOfRow;
  }
}
