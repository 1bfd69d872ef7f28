// The published schema against the JSON Schema 2020-12 rules (through ajv) and against the TypeScript type.
import { readFileSync } from 'node:fs';
import { Ajv2020 } from 'ajv/dist/2020.js';
import ts from 'typescript';
import { describe, expect, it } from 'vitest';
import { broken, held, many, undecided, unreadable } from './sample.ts';

type Schema = Record<string, unknown> & {
  $defs: Record<string, Schema>;
  properties: Record<string, Schema>;
  required: string[];
};

const schema = JSON.parse(readFileSync('src/rules/result.schema.json', 'utf8')) as Schema;
const validate = new Ajv2020({ strict: true, strictTypes: false, allErrors: true }).compile(schema);

describe('result.schema.json', () => {
  it.each(Object.entries({ broken, held, undecided, unreadable, many }))(
    'takes the sample "%s"',
    (_name, result) => {
      expect(validate(JSON.parse(JSON.stringify(result))) ? null : validate.errors).toBeNull();
    },
  );

  it.each([
    ['a foreign verdict', { ...broken, verdict: 'safe' }],
    ['another version', { ...broken, schemaVersion: 2 }],
    ['a missing key', { schemaVersion: 1, verdict: 'holds' }],
    ['frame 0', withFinding({ frame: 0 })],
    ['an owner that is no side', withFinding({ owners: ['grid'] })],
    ['a finding without a sentence', withFinding({ says: null })],
  ])('refuses %s', (_name, result) => {
    expect(validate(JSON.parse(JSON.stringify(result)))).toBe(false);
  });

  it('describes every property', () => {
    for (const [name, definition] of Object.entries(schema.$defs)) {
      expect(definition.description, name).toBeTypeOf('string');
      for (const [key, property] of Object.entries(definition.properties ?? {})) {
        const described = property.description ?? property.$ref;
        expect(described, `${name}.${key}`).toBeTypeOf('string');
      }
    }
  });
});

describe('the schema and the TypeScript type', () => {
  const program = ts.createProgram(['src/rules/result.ts'], {
    strict: true,
    exactOptionalPropertyTypes: true,
    noEmit: true,
    allowImportingTsExtensions: true,
    module: ts.ModuleKind.NodeNext,
    moduleResolution: ts.ModuleResolutionKind.NodeNext,
    types: [],
  });
  const checker = program.getTypeChecker();
  const source = program.getSourceFile('src/rules/result.ts')!;
  const exported = checker.getExportsOfModule(checker.getSymbolAtLocation(source)!);
  const interfaces = exported.filter((symbol) => symbol.flags & ts.SymbolFlags.Interface);

  it('are about the same interfaces', () => {
    const objects = Object.entries(schema.$defs).filter(([, one]) => one.type === 'object');
    expect(interfaces.map((symbol) => symbol.name).sort()).toEqual(
      objects.map(([name]) => name).sort(),
    );
  });

  it.each(interfaces.map((symbol) => [symbol.name, symbol] as const))(
    'agree on %s, key by key',
    (name, symbol) => {
      expect(shapeOfSchema(schema.$defs[name]!)).toEqual(
        shapeOfType(checker.getDeclaredTypeOfSymbol(symbol)),
      );
    },
  );

  /** Both sides as the same plain notation: objects by key, arrays, alternatives sorted. */
  function shapeOfType(type: ts.Type): unknown {
    if (type.isUnion()) return alternatives(type.types.map(shapeOfType));
    if (type.isStringLiteral() || type.isNumberLiteral()) return JSON.stringify(type.value);
    if (type.flags & ts.TypeFlags.BooleanLiteral) return checker.typeToString(type);
    if (type.flags & ts.TypeFlags.Null) return 'null';
    if (type.flags & ts.TypeFlags.String) return 'string';
    if (type.flags & ts.TypeFlags.Number) return 'number';
    if (checker.isArrayType(type)) {
      return [shapeOfType(checker.getTypeArguments(type as ts.TypeReference)[0]!)];
    }
    return Object.fromEntries(
      checker.getPropertiesOfType(type).map((property) => {
        const optional = property.flags & ts.SymbolFlags.Optional ? '?' : '';
        return [property.name + optional, shapeOfType(checker.getTypeOfSymbol(property))];
      }),
    );
  }
});

function withFinding(changes: object): unknown {
  const copy = structuredClone(broken);
  Object.assign(copy.files[0]!.sessions[0]!.findings[0]!, changes);
  return copy;
}

function primitive(type: string): unknown {
  if (type === 'integer') return 'number';
  return type === 'boolean' ? alternatives(['true', 'false']) : type;
}

function alternatives(shapes: unknown[]): unknown {
  const flat = shapes.flatMap((shape) =>
    typeof shape === 'object' && shape !== null && 'oneOf' in shape
      ? (shape as { oneOf: unknown[] }).oneOf
      : [shape],
  );
  return { oneOf: flat.map((shape) => JSON.stringify(shape)).sort() };
}

function shapeOfSchema(node: Schema): unknown {
  if (typeof node.$ref === 'string') return shapeOfSchema(schema.$defs[node.$ref.slice(8)]!);
  if (Array.isArray(node.anyOf)) return alternatives((node.anyOf as Schema[]).map(shapeOfSchema));
  if (Array.isArray(node.enum)) return alternatives(node.enum.map((one) => JSON.stringify(one)));
  if ('const' in node) return JSON.stringify(node.const);
  if (Array.isArray(node.type)) {
    return alternatives(node.type.map((type: string) => primitive(type)));
  }
  if (node.type === 'array') return [shapeOfSchema(node.items as Schema)];
  if (node.type !== 'object') return primitive(node.type as string);
  return Object.fromEntries(
    Object.entries(node.properties).map(([key, property]) => [
      key + (node.required.includes(key) ? '' : '?'),
      shapeOfSchema(property),
    ]),
  );
}
