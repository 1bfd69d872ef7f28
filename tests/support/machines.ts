// The bundled machines, as the command line hands them to the replay.
import { charger as dinCharger } from '../../machines/din70121/charger.ts';
import { vehicle as dinVehicle } from '../../machines/din70121/vehicle.ts';
import { charger as isoCharger } from '../../machines/iso15118-2/charger.ts';
import { vehicle as isoVehicle } from '../../machines/iso15118-2/vehicle.ts';
import type { SideMachine } from '../../src/machine/convention.ts';
import type { SessionProtocol } from '../../src/protocols/index.ts';
import type { MachineSet } from '../../src/replay/session.ts';

export const machines: MachineSet = {
  din70121: { vehicle: dinVehicle, charger: dinCharger },
  'iso15118-2': { vehicle: isoVehicle, charger: isoCharger },
};

/** Both sides of a protocol. */
export function bothOf(protocol: SessionProtocol): { vehicle: SideMachine; charger: SideMachine } {
  const { vehicle, charger } = machines[protocol]!;
  return { vehicle: vehicle!, charger: charger! };
}
