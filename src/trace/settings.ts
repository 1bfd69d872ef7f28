// What people write for handfast (scenarios, projects, parameters): YAML or JSON (which is YAML), checked against a JSON
// Schema. What is wrong is told with its line, what it is, and the mend.
import type { ErrorObject } from 'ajv';
import { isMap, LineCounter, parseDocument, type Document, type Node } from 'yaml';
import { InputError } from './input-error.ts';

/** Settings are a page; this is a book. */
const LONGEST = 1_000_000;
/** Aliases that unfold without end are no settings. */
const MOST_ALIASES = 100;

export interface SettingsKind {
  /** What the file is, as it is told: `the scenario`. */
  readonly name: string;
  /** JSON Schema 2020-12; loaded when it is needed. */
  schema(): Promise<object>;
  /** Schemas it refers to. */
  others?(): Promise<object[]>;
  /** Where the schema is published: `handfast/schema/scenario.json`. */
  readonly published: string;
}

/** The value of a text that keeps to the schema. Throws InputError with file, line and mend. */
export async function readSettings(
  text: string,
  file: string,
  kind: SettingsKind,
): Promise<unknown> {
  if (text.length > LONGEST) {
    const mend = `give ${kind.name} (YAML or JSON), not a recording`;
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
  const error = await faultOf(value, kind);
  if (error === null) return value;
  const { says, mend } = tell(error, kind);
  throw new InputError(says, { file, ...lineOf(document, lines, error) }, mend);
}

/** Checks a value that a module exports: it has no lines, so the path to what is wrong must do. */
export async function checkSettings(
  value: unknown,
  file: string,
  kind: SettingsKind,
): Promise<void> {
  const error = await faultOf(value, kind);
  if (error === null) return;
  const { says, mend } = tell(error, kind);
  throw new InputError(says, { file }, mend);
}

function valueOf(document: Document, file: string): unknown {
  try {
    return document.toJS({ maxAliasCount: MOST_ALIASES });
  } catch (error) {
    if (!(error instanceof ReferenceError)) throw error;
    const mend = 'write out what they stand for';
    throw new InputError('its aliases unfold without end', { file }, mend);
  }
}

async function faultOf(value: unknown, kind: SettingsKind): Promise<ErrorObject | null> {
  const [{ Ajv2020 }, schema, others] = await Promise.all([
    import('ajv/dist/2020.js'),
    kind.schema(),
    kind.others?.() ?? [],
  ]);
  const ajv = new Ajv2020({ discriminator: true, verbose: true, schemas: others });
  const validate = ajv.compile(schema);
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

function tell(error: ErrorObject, { name, published }: SettingsKind): Told {
  const where = error.instancePath.slice(1).replaceAll('/', '.') || name;
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
      return { says: `${where}: what is not known`, mend: `use one of ${kindWords(error)}` };
    default:
      return {
        says: `${where} ${error.message}, it is ${shown(error.data)}`,
        mend: described ?? `see ${published}`,
      };
  }
}

function kindWords({ parentSchema }: ErrorObject): string {
  const kinds = (parentSchema as { oneOf: { properties: { what: { const: string } } }[] }).oneOf;
  return kinds.map(({ properties }) => properties.what.const).join(', ');
}

function shown(value: unknown): string {
  if (typeof value === 'object' && value !== null) return Array.isArray(value) ? 'a list' : 'a map';
  return JSON.stringify(value)?.slice(0, 60) ?? 'nothing';
}
