// trace.schema.json at work: why a line is refused, in words. Loaded and compiled only once a line is bad, since it
// costs more than reading a short trace.
import type { ErrorObject, ValidateFunction } from 'ajv';
import { FIELD_ORDER } from './fields.ts';

type Validators = { header: ValidateFunction; observation: ValidateFunction };

let validators: Promise<Validators> | undefined;

async function compile(): Promise<Validators> {
  const [{ Ajv2020 }, { default: schema }] = await Promise.all([
    import('ajv/dist/2020.js'),
    import('./trace.schema.json', { with: { type: 'json' } }),
  ]);
  const ajv = new Ajv2020({ discriminator: true, allowUnionTypes: true, verbose: true });
  ajv.addSchema(schema);
  return {
    header: ajv.getSchema(`${schema.$id}#/$defs/header`)!,
    observation: ajv.getSchema(`${schema.$id}#/$defs/observation`)!,
  };
}

/** What the schema has against a header, in words; null when nothing. */
export async function headerFault(line: unknown): Promise<string | null> {
  return faultOf((await (validators ??= compile())).header, line);
}

/** What the schema has against an observation, in words; null when nothing. */
export async function observationFault(line: unknown): Promise<string | null> {
  return faultOf((await (validators ??= compile())).observation, line);
}

function faultOf(validate: ValidateFunction, line: unknown): string | null {
  if (validate(line)) return null;
  const errors = validate.errors!;
  // Why no alternative fits comes first, alternative by alternative; only together they say what is missing.
  return tell(errors.find(({ keyword }) => keyword === 'anyOf') ?? errors[0]!);
}

function tell(error: ErrorObject): string {
  const field = error.instancePath.slice(1).replaceAll('/', '.') || 'the line';
  const params = error.params as Record<string, unknown>;
  const got = `, it is ${shown(error.data)}`;
  switch (error.keyword) {
    case 'required':
      return `${String(params.missingProperty)} is missing`;
    case 'anyOf':
      return `${(error.schema as { required: string[] }[]).flatMap(({ required }) => required).join(' or ')} is missing`;
    case 'additionalProperties':
      return `${shown(params.additionalProperty)} is no field of this kind`;
    case 'discriminator':
      if (params.tagValue === undefined) return 'kind is missing';
      return `kind must be one of ${Object.keys(FIELD_ORDER).join(', ')}, it is ${shown(params.tagValue)}`;
    case 'type':
      return `${field} must be ${typeWords(params.type)}${got}`;
    case 'enum':
      return `${field} must be one of ${(params.allowedValues as string[]).join(', ')}${got}`;
    case 'const':
      return `${field} must be ${JSON.stringify(params.allowedValue)}${got}`;
    case 'pattern':
      return `${field} must be as described (${String(error.parentSchema?.description)})${got}`;
    default:
      return `${field} ${error.message}${got}`;
  }
}

function typeWords(type: unknown): string {
  return [type]
    .flat()
    .map((name) =>
      name === 'null' ? name : /^[aio]/.test(String(name)) ? `an ${name}` : `a ${name}`,
    )
    .join(' or ');
}

/** A value of the input in a message: as JSON, so that control characters stay harmless, and short. */
export function shown(value: unknown): string {
  if (typeof value === 'object' && value !== null) {
    return Array.isArray(value) ? 'a list' : 'an object';
  }
  if (typeof value === 'number') return String(value);
  const text = JSON.stringify(typeof value === 'string' ? value.slice(0, 60) : value);
  return typeof value === 'string' && value.length > 60 ? `${text}…` : text;
}
