// Writes the values of the built-in types of W3C EXI 1.0 (section 7.1). Unlike the reader it holds
// values to the bounds of their type: what is written shall be a legal message. The empty string or
// binary always passes, as real devices send it.
import type { Json } from '../../trace/observation.ts';
import type { BitWriter } from './bits.ts';
import { BIG_GROUPS_MAX, BINARY_OCTETS_MAX, STRING_CHARACTERS_MAX } from './limits.ts';
import { WritePartitions } from './value-partitions.ts';
import type { ValueType } from './value-types.ts';
import { bitsFor } from './value-types.ts';

/** Why a value cannot be written; null when it was. The caller knows where it stands. */
export type Refusal = { what: string; mend: string } | null;

const NO_DIGIT = -1000;
const DIGITS = Array.from({ length: 128 }, (_, code) => {
  const value = Number.parseInt(String.fromCharCode(code), 16);
  return Number.isNaN(value) ? NO_DIGIT : value;
});
const DECIMAL = /^-?\d{1,155}$/;
/** Decimal strings beyond this are beyond BIG_GROUPS_MAX groups. */
const BIG_LIMIT = 1n << BigInt(7 * BIG_GROUPS_MAX);

export class ValueWriter {
  private readonly bits: BitWriter;
  private readonly partitions: WritePartitions;

  constructor(bits: BitWriter, partitions: number) {
    this.bits = bits;
    this.partitions = new WritePartitions(partitions);
  }

  /** Forgets the strings of the last stream. */
  reset(): void {
    this.partitions.reset();
  }

  write(type: ValueType, value: Json, partition: number): Refusal {
    switch (type.kind) {
      case 'integer':
      case 'unsigned':
        return this.number(type, value);
      case 'listed':
        return this.listed(type, value);
      case 'string':
        return this.string(type, value, partition);
      case 'hex':
        return this.hex(type, value);
      case 'base64':
        return this.base64(type, value);
      default:
        return this.big(type, value);
    }
  }

  private listed(type: ValueType, value: Json): Refusal {
    const code = type.codes.get(value);
    if (code === undefined) {
      return refuseListed(type, value);
    }
    this.bits.write(code, type.bits);
    return null;
  }

  private number(type: ValueType, value: Json): Refusal {
    if (typeof value !== 'number' || !Number.isInteger(value)) {
      return { what: `${show(value)} is no integer`, mend: `${type.name} is a JSON integer` };
    }
    if (value < type.min || value > type.max) {
      return outside(type, value, type.min, type.max);
    }
    const magnitude = value < 0 ? -1 - value : value;
    if (type.kind === 'integer') {
      this.bits.write(value < 0 ? 1 : 0, 1);
    }
    this.unsigned(magnitude);
    return null;
  }

  /** Unsigned Integer (7.1.6) of at most 2^53: groups of seven bits, least significant first. */
  private unsigned(value: number): void {
    if (value < 0x80) {
      this.bits.write(value, 8);
    } else if (value < 0x4000) {
      this.bits.write(((value & 0x7f) << 8) | 0x8000 | (value >>> 7), 16);
    } else {
      this.bits.write((value % 0x80) | 0x80, 8);
      this.unsigned(Math.floor(value / 0x80));
    }
  }

  private big(type: ValueType, value: Json): Refusal {
    if (typeof value !== 'string' || !DECIMAL.test(value)) {
      return { what: `${show(value)} is no integer`, mend: `${type.name} is a string of digits` };
    }
    const number = BigInt(value);
    const min = type.bigMin ?? -BIG_LIMIT;
    const max = type.bigMax ?? BIG_LIMIT - 1n;
    if (number < min || number > max) {
      return outside(type, number, min, max);
    }
    if (type.kind === 'big integer') {
      this.bits.write(number < 0n ? 1 : 0, 1);
    }
    let rest = number < 0n ? -1n - number : number;
    for (; rest >= 0x80n; rest >>= 7n) {
      this.bits.write(Number(rest & 0x7fn) | 0x80, 8);
    }
    this.bits.write(Number(rest), 8);
    return null;
  }

  private hex(type: ValueType, value: Json): Refusal {
    const text = typeof value === 'string' ? value : '?';
    const length = text.length / 2;
    const refusal = judgeLength(type, Math.ceil(length), BINARY_OCTETS_MAX, 'octets');
    if (refusal !== null) {
      return refusal;
    }
    this.unsigned(Math.ceil(length));
    for (let at = 0; at < text.length; at += 2) {
      const octet = digit(text, at) * 16 + digit(text, at + 1);
      if (octet < 0) {
        const mend = 'write pairs of hexadecimal digits';
        return { what: `${show(value)} is no hexBinary`, mend };
      }
      this.bits.write(octet, 8);
    }
    return null;
  }

  private base64(type: ValueType, value: Json): Refusal {
    const octets = typeof value === 'string' ? Buffer.from(value, 'base64') : null;
    // Buffer passes over what is no base64: only what comes back the same was.
    if (octets === null || octets.toString('base64') !== value) {
      return { what: `${show(value)} is no base64Binary`, mend: 'write base64 with its padding' };
    }
    const refusal = judgeLength(type, octets.length, BINARY_OCTETS_MAX, 'octets');
    if (refusal !== null) {
      return refusal;
    }
    this.unsigned(octets.length);
    for (const octet of octets) {
      this.bits.write(octet, 8);
    }
    return null;
  }

  /**
   * String (7.1.10 and 7.3.3): a hit in the value partitions, or a length plus two and the
   * characters.
   */
  private string(type: ValueType, value: Json, partition: number): Refusal {
    if (typeof value !== 'string') {
      return { what: `${show(value)} is no string`, mend: `${type.name} is a JSON string` };
    }
    const { bits, partitions } = this;
    const at = partitions.find(value);
    if (at >= 0) {
      const local = partitions.localNumber(at, partition);
      if (local >= 0) {
        bits.write(0, 8);
        bits.write(local, bitsFor(partitions.localSize(partition)));
      } else {
        bits.write(1, 8);
        bits.write(at, bitsFor(partitions.size));
      }
      return null;
    }
    const length = countCharacters(value);
    if (length < 0) {
      return { what: `${show(value)} holds half a character`, mend: 'mend its surrogate pairs' };
    }
    const refusal = judgeLength(type, length, STRING_CHARACTERS_MAX, 'characters');
    if (refusal !== null) {
      return refusal;
    }
    this.unsigned(length + 2);
    for (let unit = 0; unit < value.length; unit += 1) {
      const character = value.codePointAt(unit)!;
      this.unsigned(character);
      unit += character > 0xffff ? 1 : 0;
    }
    if (length > 0) {
      partitions.add(partition, value);
    }
    return null;
  }
}

/** Why a value is none of a listed type. */
export function refuseListed(type: ValueType, value: Json): Refusal {
  const { values } = type;
  const numbers = typeof values[0] === 'number';
  return {
    what: `${show(value)} is no ${type.name}`,
    mend: numbers
      ? `a whole number from ${type.min} to ${type.max}`
      : `one of ${values.map((one) => JSON.stringify(one)).join(', ')}`,
  };
}

function outside<T extends number | bigint>(type: ValueType, value: T, min: T, max: T): Refusal {
  return { what: `${value} is outside ${type.name}`, mend: `from ${min} to ${max}` };
}

function judgeLength(type: ValueType, length: number, cap: number, unit: string): Refusal {
  const max = Math.min(type.lengthMax, cap);
  if (length <= max && (length >= type.lengthMin || length === 0)) {
    return null;
  }
  return {
    what: `${length} ${unit} are outside ${type.name}`,
    mend: `from ${type.lengthMin} to ${max} ${unit}`,
  };
}

/** Characters of a string, surrogate pairs as one; -1 if half a pair stands alone. */
function countCharacters(text: string): number {
  let { length } = text;
  for (let at = 0; at < text.length; at += 1) {
    const unit = text.charCodeAt(at);
    if (unit >= 0xd800 && unit < 0xe000) {
      if (text.codePointAt(at)! <= 0xffff) {
        return -1;
      }
      length -= 1;
      at += 1;
    }
  }
  return length;
}

/** The value of a hexadecimal digit; far below 0 for anything else. */
function digit(text: string, at: number): number {
  return DIGITS[text.charCodeAt(at)] ?? NO_DIGIT;
}

function show(value: Json): string {
  const text = JSON.stringify(value) ?? 'undefined';
  return text.length > 40 ? `${text.slice(0, 40)}…` : text;
}
