// A scenario file, YAML or JSON (which is YAML), checked against its schema. What is wrong is told with its line.
import type { ErrorObject } from 'ajv';
import { isMap, LineCounter, parseDocument, type Document, type Node } from 'yaml';
import { InputError } from '../trace/input-error.ts';
import { completeScenario, type Scenario, type ScenarioText } from './scenario.ts';

/** A scenario is a page; this is a book. */
const LONGEST = 1_000_000;
/** Aliases that unfold without end are no scenario. */
const MOST_ALIASES = 100;

/** Reads the text of a scenario file. Throws InputError with file, line and mend. */
export async function readScenario(text: string, file: string): Promise<Scenario> {
  if (text.length > LONGEST) {
    const mend = 'give a scenario file (YAML or JSON), not a recording';
    throw new InputError(`longer than ${LONGEST} characters`, { file }, mend);
  }
  const lines = new LineCounter();
  const document = parseDocument(text, { lineCounter: lines, prettyErrors: false });
  const [wrong] = document.errors;
  if (wrong !== undefined) {
    const line = lines.linePos(wrong.pos[0]).line;
    throw new InputError(wrong.message, { file, line }, 'write it as YAML or JSON');
  }
  const value = valueOf(document, file);
  const error = await faultOf(value);
  if (error !== null) {
    const { says, mend } = tell(error);
    throw new InputError(says, { file, ...lineOf(document, lines, error) }, mend);
  }
  const { $schema: _, ...scenario } = value as ScenarioText & { $schema?: string };
  return completeScenario(scenario);
}

function valueOf(document: Document, file: string): unknown {
  try {
    return document.toJS({ maxAliasCount: MOST_ALIASES });
  } catch (error) {
    if (!(error instanceof ReferenceError)) throw error;
    throw new InputError(
      'its aliases unfold without end',
      { file },
      'write out what they stand for',
    );
  }
}

async function faultOf(value: unknown): Promise<ErrorObject | null> {
  const [{ Ajv2020 }, { default: schema }] = await Promise.all([
    import('ajv/dist/2020.js'),
    import('./scenario.schema.json', { with: { type: 'json' } }),
  ]);
  const validate = new Ajv2020({ discriminator: true, verbose: true }).compile(schema);
  return validate(value) ? null : validate.errors![0]!;
}

/** The line of what is wrong; of the key, where that is what is wrong. */
function lineOf(document: Document, lines: LineCounter, error: ErrorObject): { line?: number } {
  const path = error.instancePath.split('/').slice(1).map(unescaped);
  const at = document.getIn(path, true) as Node | undefined;
  const extra = (error.params as { additionalProperty?: string }).additionalProperty;
  const key =
    extra !== undefined && isMap(at)
      ? at.items.find((pair) => String(pair.key) === extra)?.key
      : undefined;
  const range = ((key ?? at ?? document.contents) as Node | null)?.range;
  return range === undefined || range === null ? {} : { line: lines.linePos(range[0]).line };
}

const unescaped = (part: string): string | number => {
  const text = part.replaceAll('~1', '/').replaceAll('~0', '~');
  return /^\d+$/.test(text) ? Number(text) : text;
};

interface Told {
  says: string;
  mend: string;
}

function tell(error: ErrorObject): Told {
  const where = error.instancePath.slice(1).replaceAll('/', '.') || 'the scenario';
  const params = error.params as Record<string, unknown>;
  const described = (error.parentSchema as { description?: string } | undefined)?.description;
  switch (error.keyword) {
    case 'required':
      return { says: `${where}: ${String(params.missingProperty)} is missing`, mend: 'add it' };
    case 'additionalProperties': {
      const known = Object.keys((error.parentSchema as { properties: object }).properties);
      return {
        says: `${where}: there is no ${String(params.additionalProperty)}`,
        mend: `use one of ${known.filter((key) => key !== '$schema').join(', ')}`,
      };
    }
    case 'enum':
      return {
        says: `${where}: ${shown(error.data)} is none of its values`,
        mend: `use one of ${(params.allowedValues as string[]).join(', ')}`,
      };
    case 'discriminator':
      return { says: `${where}: what is not known`, mend: `use one of ${faultWords(error)}` };
    default:
      return {
        says: `${where} ${error.message}, it is ${shown(error.data)}`,
        mend: described ?? 'see handfast/schema/scenario.json',
      };
  }
}

function faultWords({ parentSchema }: ErrorObject): string {
  const kinds = (parentSchema as { oneOf: { properties: { what: { const: string } } }[] }).oneOf;
  return kinds.map(({ properties }) => properties.what.const).join(', ');
}

function shown(value: unknown): string {
  if (typeof value === 'object' && value !== null) return Array.isArray(value) ? 'a list' : 'a map';
  return JSON.stringify(value)?.slice(0, 60) ?? 'nothing';
}
