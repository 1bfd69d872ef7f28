import type { ObservationOf } from './fields.ts';
import type { Observation } from './observation.ts';

type PilotSeen = Pick<ObservationOf<'pilot'>, 'state' | 'voltage_V'>;

/** Rows of a log on their way to observations. */
export class CsvRow {
  at_ns = 0;
  private observations: Observation[] = [];
  private lastPilot: PilotSeen | undefined;
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

  /** The row's one observation of the pilot, with what is seen of it. */
  pilot(seen: PilotSeen): ObservationOf<'pilot'> {
    if (this.pilotOfRow === undefined) {
      this.pilotOfRow = { kind: 'pilot', at_ns: this.at_ns };
      this.observations.push(this.pilotOfRow);
      this.lastPilot = {};
    }
    Object.assign(this.lastPilot!, seen);
    return Object.assign(this.pilotOfRow, seen);
  }

  /** The same where the row may say nothing of state and voltage: then those of the last row that did, if there was any. */
  pilotSoFar(): ObservationOf<'pilot'> | undefined {
    if (this.lastPilot === undefined) return undefined;
    return this.pilotOfRow ?? this.pilot(this.lastPilot);
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
