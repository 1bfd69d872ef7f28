// A parameter file: the limits and delays of a vehicle and of the charger it meets, as an update would set them.
import {
  completeScenario,
  type ChargerScenario,
  type ScenarioText,
  type VehicleScenario,
} from '../../simulate/scenario.ts';
import { readSettings, type SettingsKind } from '../../trace/settings.ts';

interface Connector {
  readonly rated_A: number;
  /** The hottest ambient it is used in. */
  readonly ambient_C: number;
  /** A sensor stops the current here; null where there is none. */
  readonly highest_C: number | null;
}

export interface ParameterSet {
  readonly protocol: string;
  readonly vehicle: VehicleScenario;
  readonly charger: ChargerScenario;
  /** Null where the file names none. */
  readonly connector: Connector | null;
}

const PARAMETERS: SettingsKind = {
  name: 'the parameters',
  schema: async () =>
    (await import('./parameters.schema.json', { with: { type: 'json' } })).default as object,
  others: async () => [
    (await import('../../simulate/scenario.schema.json', { with: { type: 'json' } })).default,
  ],
  published: 'handfast/schema/parameters.json',
};

/** The hottest day a public charger is specified for (from memory). */
const AMBIENT_C = 40;

interface ParameterText extends Pick<ScenarioText, 'protocol' | 'vehicle' | 'charger'> {
  readonly connector?: { rated_A: number; ambient_C?: number; highest_C?: number };
}

/** Throws an InputError with file, line and mend. */
export async function readParameters(text: string, file: string): Promise<ParameterSet> {
  const value = (await readSettings(text, file, PARAMETERS)) as ParameterText;
  const { protocol, connector, vehicle = {}, charger = {} } = value;
  const complete = completeScenario({ protocol, vehicle, charger });
  return {
    protocol,
    vehicle: complete.vehicle,
    charger: complete.charger,
    connector:
      connector === undefined
        ? null
        : {
            rated_A: connector.rated_A,
            ambient_C: connector.ambient_C ?? AMBIENT_C,
            highest_C: connector.highest_C ?? null,
          },
  };
}
