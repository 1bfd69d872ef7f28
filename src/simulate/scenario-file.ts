// A scenario file, YAML or JSON, checked against its schema. What is wrong is told with its line.
import { readSettings, type SettingsKind } from '../trace/settings.ts';
import { completeScenario, type Scenario, type ScenarioText } from './scenario.ts';

const SCENARIO: SettingsKind = {
  name: 'the scenario',
  schema: async () =>
    (await import('./scenario.schema.json', { with: { type: 'json' } })).default as object,
  published: 'handfast/schema/scenario.json',
};

/** Reads the text of a scenario file. Throws InputError with file, line and mend. */
export async function readScenario(text: string, file: string): Promise<Scenario> {
  const value = await readSettings(text, file, SCENARIO);
  const { $schema: _, ...scenario } = value as ScenarioText & { $schema?: string };
  return completeScenario(scenario);
}
