// What each side's own sensors read of the plant: the truth, or what a broken one makes of it.
import type { Fault, SensorName } from './faults.ts';
import type { Plant } from './plant.ts';

type Reads = Extract<Fault, { what: 'sensor' }>['reads'];

const truth: Readonly<Record<SensorName, (plant: Plant) => number>> = {
  'vehicle battery voltage': ({ battery_V }) => battery_V,
  'vehicle inlet voltage': ({ node_V }) => node_V,
  'vehicle current': ({ current_A }) => current_A,
  'vehicle cells': ({ pack }) => pack.highestCell_V,
  'charger output voltage': ({ output_V }) => output_V,
  'charger current': ({ current_A }) => current_A,
  'charger isolation': (plant) => plant.isolation_ohm(),
};

export const SENSOR_NAMES = Object.keys(truth) as readonly SensorName[];

export class Sensors {
  private readonly plant: Plant;
  private readonly broken = new Map<SensorName, Exclude<Reads, 'stuck'>>();

  constructor(plant: Plant) {
    this.plant = plant;
  }

  break(sensor: SensorName, reads: Reads): void {
    const now = this.read(sensor);
    if (reads !== 'stuck') this.broken.set(sensor, reads);
    else this.broken.set(sensor, now === null ? 'absent' : { value: now });
  }

  /** Null where the sensor says nothing. */
  read(sensor: SensorName): number | null {
    const broken = this.broken.get(sensor);
    if (broken === 'absent') return null;
    if (broken !== undefined && 'value' in broken) return broken.value;
    return truth[sensor](this.plant) + (broken === undefined ? 0 : broken.more);
  }
}
