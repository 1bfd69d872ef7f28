// Simple types as the wire carries them (W3C EXI 1.0, section 7.1): which built-in representation,
// how wide.
import { InputError } from '../../trace/input-error.ts';
import type { SimpleType } from './model.ts';

type ValueKind =
  /** boolean, enumeration, or integer of at most 4,096 values: an n-bit index into `values`. */
  | 'listed'
  | 'unsigned'
  | 'integer'
  /** The same two, kept as decimal strings (long, unsignedLong, integer). */
  | 'big unsigned'
  | 'big integer'
  | 'string'
  | 'hex'
  | 'base64';

export interface ValueType {
  name: string;
  kind: ValueKind;
  /** Width of a listed value. */
  bits: number;
  /** All values of a listed type, by code. */
  values: readonly (string | number | boolean)[];
  codes: ReadonlyMap<unknown, number>;
  /** Bounds of an integer kept as a number. */
  min: number;
  max: number;
  /** Bounds of an integer kept as a string; null where the type has none. */
  bigMin: bigint | null;
  bigMax: bigint | null;
  /** Bounds of a length: characters of a string, octets of binary. */
  lengthMin: number;
  lengthMax: number;
}

/** EXI 1.0, 7.1.9 and 7.1.5: integers of at most this many values are n-bit. */
const LISTED_INTEGERS_MAX = 4096;

const INTEGERS: Record<string, [min: number, max: number]> = {
  byte: [-128, 127],
  unsignedByte: [0, 255],
  short: [-32_768, 32_767],
  unsignedShort: [0, 65_535],
  int: [-2_147_483_648, 2_147_483_647],
  unsignedInt: [0, 4_294_967_295],
};

const BIG_INTEGERS: Record<string, [min: bigint | null, max: bigint | null]> = {
  long: [-(2n ** 63n), 2n ** 63n - 1n],
  unsignedLong: [0n, 2n ** 64n - 1n],
  integer: [null, null],
};

const LENGTHS: Record<string, 'string' | 'hex' | 'base64'> = {
  string: 'string',
  anyURI: 'string',
  ID: 'string',
  hexBinary: 'hex',
  base64Binary: 'base64',
};

/** Bits that tell `count` alternatives apart. */
export function bitsFor(count: number): number {
  return count <= 1 ? 0 : 32 - Math.clz32(count - 1);
}

/** The representation of a declared or built-in simple type; undefined if `name` is neither. */
export function valueType(
  name: string,
  declared: ReadonlyMap<string, SimpleType>,
): ValueType | undefined {
  const simple = declared.get(name);
  if (simple === undefined) {
    return builtIn(name);
  }
  if (simple.kind === 'enum') {
    return make(name, 'listed', { values: simple.values });
  }
  const base = simple.base === name ? undefined : valueType(simple.base, declared);
  if (base === undefined) {
    const what = `type ${name} is based on ${simple.base}, which is unknown`;
    throw new InputError(what, {}, 'name a simple type');
  }
  switch (simple.kind) {
    case 'integer':
      return bounded(name, simple.min, simple.max);
    case 'length':
      return make(name, base.kind, { lengthMin: simple.min, lengthMax: simple.max });
    default:
      return make(name, base.kind, base);
  }
}

/** The representation of a type of XML Schema itself; undefined if it is none that messages use. */
export function builtIn(name: string): ValueType | undefined {
  if (name === 'boolean') {
    return make(name, 'listed', { values: [false, true] });
  }
  const range = INTEGERS[name];
  if (range !== undefined) {
    return bounded(name, range[0], range[1]);
  }
  const big = BIG_INTEGERS[name];
  if (big !== undefined) {
    const kind = big[0] === 0n ? 'big unsigned' : 'big integer';
    return make(name, kind, { bigMin: big[0], bigMax: big[1] });
  }
  const kind = LENGTHS[name];
  return kind === undefined ? undefined : make(name, kind, {});
}

function bounded(name: string, min: number, max: number): ValueType {
  const count = max - min + 1;
  if (count <= LISTED_INTEGERS_MAX) {
    const values = Array.from({ length: count }, (_, at) => min + at);
    return make(name, 'listed', { values, min, max });
  }
  return make(name, min >= 0 ? 'unsigned' : 'integer', { min, max });
}

/**
 * All types are made here, so that they are alike to the engine too: the reader asks them for every
 * value.
 */
function make(name: string, kind: ValueKind, given: Partial<ValueType>): ValueType {
  const values = given.values ?? [];
  return {
    name,
    kind,
    bits: bitsFor(values.length),
    values,
    codes: new Map(values.map((value, code) => [value, code])),
    min: given.min ?? 0,
    max: given.max ?? 0,
    bigMin: given.bigMin ?? null,
    bigMax: given.bigMax ?? null,
    lengthMin: given.lengthMin ?? 0,
    lengthMax: given.lengthMax ?? Infinity,
  };
}
