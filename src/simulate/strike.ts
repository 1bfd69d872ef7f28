// A fault at its time, done to the parts of a simulation.
import type { AlarmObservation, Side as SideName } from '../trace/observation.ts';
import type { Fault } from './faults.ts';
import type { Plant } from './plant.ts';
import type { Sensors } from './sensors.ts';

export interface Struck {
  readonly plant: Plant;
  readonly sensors: Sensors;
  alarm(side: SideName, alarm: AlarmObservation['alarm'], says?: string): void;
  silence(): void;
  disconnect(): void;
  unplug(): void;
}

export function strike(fault: Fault, struck: Struck): void {
  const { plant, sensors } = struck;
  switch (fault.what) {
    case 'alarm':
      struck.alarm(fault.side, fault.alarm, fault.says);
      return;
    case 'isolation':
      plant.driftIsolation(fault.to_ohm, fault.over_s ?? 0);
      return;
    case 'weld':
      plant.contactors.stuck = plant.contactors.state;
      return;
    case 'sensor':
      sensors.break(fault.sensor, fault.reads);
      return;
    case 'silence':
      struck.silence();
      return;
    case 'disconnect':
      struck.disconnect();
      return;
    case 'unplug':
      struck.unplug();
  }
}
