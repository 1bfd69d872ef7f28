// What each side sees of the plant at a moment.
import type { Sensors } from './sensors.ts';
import type { Plant } from './plant.ts';
import type { Sight } from './side.ts';

type Voltages = 'battery' | 'inlet' | 'output';

function voltage(at_ns: number, place: Voltages, voltage_V: number | null): Sight[] {
  return voltage_V === null ? [] : [{ kind: 'voltage', at_ns, place, voltage_V }];
}

function current(at_ns: number, current_A: number | null): Sight[] {
  return current_A === null ? [] : [{ kind: 'current', at_ns, current_A }];
}

/** What the vehicle knows of its pack as a whole; it changes slowly. */
export function batterySight({ pack }: Plant, at_ns: number): Sight {
  const { hottest_C, coldest_C, stateOfCharge } = pack;
  return {
    kind: 'battery',
    at_ns,
    stateOfCharge_percent: 100 * stateOfCharge,
    hottest_C,
    coldest_C,
  };
}

export function vehicleSights(plant: Plant, sensors: Sensors, at_ns: number): Sight[] {
  const { lowestCell_V } = plant.pack;
  const highest_V = sensors.read('vehicle cells');
  return [
    ...voltage(at_ns, 'battery', sensors.read('vehicle battery voltage')),
    ...voltage(at_ns, 'inlet', sensors.read('vehicle inlet voltage')),
    ...current(at_ns, sensors.read('vehicle current')),
    ...(highest_V === null
      ? []
      : [{ kind: 'cells', at_ns, lowest_V: lowestCell_V, highest_V } as const]),
  ];
}

export function chargerSights(sensors: Sensors, ratedVoltage_V: number, at_ns: number): Sight[] {
  const resistance_ohm = sensors.read('charger isolation');
  return [
    ...voltage(at_ns, 'output', sensors.read('charger output voltage')),
    ...current(at_ns, sensors.read('charger current')),
    ...(resistance_ohm === null
      ? []
      : [{ kind: 'isolation', at_ns, resistance_ohm, ratedVoltage_V } as const]),
  ];
}
