// Reads the values of the built-in types of W3C EXI 1.0 (section 7.1).
//
// Lengths and ranges that a schema merely restricts are not judged here: a device that sends a name
// of 40 characters where 32 are allowed is shown as it is. What the wire cannot tell is refused: an
// unused code of an enumeration, a number beyond 2^53, a length beyond the caps of limits.ts.
import type { InputError } from '../../trace/input-error.ts';
import type { BitReader } from './bits.ts';
import {
  BIG_GROUPS_MAX,
  BINARY_OCTETS_MAX,
  NUMBER_GROUPS_MAX,
  STRING_CHARACTERS_MAX,
} from './limits.ts';
import { ReadPartitions } from './value-partitions.ts';
import type { ValueType } from './value-types.ts';
import { bitsFor } from './value-types.ts';

const WRONG_SCHEMA = 'check that the message is of this schema and arrived whole';

const HEX = Array.from({ length: 256 }, (_, octet) =>
  octet.toString(16).toUpperCase().padStart(2, '0'),
);

export class ValueReader {
  private readonly bits: BitReader;
  private readonly partitions: ReadPartitions;

  constructor(bits: BitReader, partitions: number) {
    this.bits = bits;
    this.partitions = new ReadPartitions(partitions);
  }

  /** Forgets the strings of the last stream. */
  reset(): void {
    this.partitions.reset();
  }

  read(type: ValueType, partition: number): string | number | boolean {
    switch (type.kind) {
      case 'integer':
        return this.integer();
      case 'listed':
        return this.listed(type);
      case 'unsigned':
        return this.unsigned();
      case 'string':
        return this.string(partition);
      case 'hex':
        return this.hex();
      case 'base64':
        return this.binary().toString('base64');
      case 'big unsigned':
        return this.bigUnsigned().toString();
      case 'big integer':
        return this.bits.read(1) === 0
          ? this.bigUnsigned().toString()
          : (-1n - this.bigUnsigned()).toString();
    }
  }

  private listed(type: ValueType): string | number | boolean {
    const code = this.bits.read(type.bits);
    const value = type.values[code];
    if (value === undefined) {
      throw this.bits.fail(
        `code ${code} is none of the ${type.values.length} values of ${type.name}`,
        WRONG_SCHEMA,
        this.bits.position - type.bits,
      );
    }
    return value;
  }

  /** Integer (7.1.5): a sign, then the magnitude, less one if negative. */
  private integer(): number {
    return this.bits.read(1) === 0 ? this.unsigned() : -1 - this.unsigned();
  }

  /** Unsigned Integer (7.1.6): groups of seven bits, least significant first. */
  private unsigned(): number {
    const { bits } = this;
    let octet = bits.read(8);
    if (octet < 0x80) {
      return octet;
    }
    let value = octet & 0x7f;
    let scale = 0x80;
    for (let groups = 1; groups < NUMBER_GROUPS_MAX; groups += 1) {
      octet = bits.read(8);
      value += (octet & 0x7f) * scale;
      if (octet < 0x80 && value < Number.MAX_SAFE_INTEGER) {
        return value;
      }
      scale *= 0x80;
    }
    throw bits.fail('a number beyond 2^53', WRONG_SCHEMA, bits.position - 8);
  }

  private bigUnsigned(): bigint {
    let value = 0n;
    for (let groups = 0; groups < BIG_GROUPS_MAX; groups += 1) {
      const octet = this.bits.read(8);
      value |= BigInt(octet & 0x7f) << BigInt(7 * groups);
      if (octet < 0x80) {
        return value;
      }
    }
    throw this.bits.fail(
      `an integer of more than ${BIG_GROUPS_MAX} octets`,
      WRONG_SCHEMA,
      this.bits.position - 8,
    );
  }

  /** Binary (7.1.1): a length, then the octets. */
  private length(): number {
    const start = this.bits.position;
    const length = this.unsigned();
    if (length > BINARY_OCTETS_MAX) {
      const what = `a binary value of ${length} octets`;
      throw this.bits.fail(what, `at most ${BINARY_OCTETS_MAX} are read`, start);
    }
    this.bits.need(length);
    return length;
  }

  private hex(): string {
    const length = this.length();
    let text = (length & 1) === 0 ? '' : HEX[this.bits.read(8)]!;
    for (let at = 1; at < length; at += 2) {
      const pair = this.bits.read(16);
      text += HEX[pair >>> 8]! + HEX[pair & 0xff]!;
    }
    return text;
  }

  private binary(): Buffer {
    const octets = Buffer.allocUnsafe(this.length());
    for (let at = 0; at < octets.length; at += 1) {
      octets[at] = this.bits.read(8);
    }
    return octets;
  }

  /**
   * String (7.1.10 and 7.3.3): a hit in the value partitions, or a length plus two and the
   * characters.
   */
  private string(partition: number): string {
    const start = this.bits.position;
    const head = this.unsigned();
    if (head === 0) {
      return this.hit(this.partitions.local(partition), start);
    }
    if (head === 1) {
      return this.hit(this.partitions.global, start);
    }
    const length = head - 2;
    if (length > STRING_CHARACTERS_MAX) {
      const what = `a string of ${length} characters`;
      throw this.bits.fail(what, `at most ${STRING_CHARACTERS_MAX} are read`, start);
    }
    this.bits.need(length);
    let text = '';
    for (let at = 0; at < length; at += 1) {
      const word = this.bits.peek();
      if (at + 3 <= length && (word & 0x8080_8000) === 0) {
        // Three characters of ASCII at once.
        this.bits.skip(24);
        text += String.fromCharCode(word >>> 24, (word >>> 16) & 0x7f, (word >>> 8) & 0x7f);
        at += 2;
        continue;
      }
      const character = this.unsigned();
      text += character < 0x80 ? String.fromCharCode(character) : this.wide(character);
    }
    if (length > 0) {
      this.partitions.add(partition, text);
    }
    return text;
  }

  private wide(character: number): string {
    if (character > 0x10_ffff || (character >= 0xd800 && character < 0xe000)) {
      const what = `${character} is no Unicode character`;
      throw this.bits.fail(what, WRONG_SCHEMA, this.bits.position - 8);
    }
    return String.fromCodePoint(character);
  }

  private hit(values: readonly string[], start: number): string {
    const value = values[this.bits.read(bitsFor(values.length))];
    if (value === undefined) {
      throw this.bits.fail('a string given by a number that none has', WRONG_SCHEMA, start);
    }
    return value;
  }

  /**
   * The value of a listed type together with the codes before and after it is no legal one: tells
   * why.
   */
  refuse(element: string, type: ValueType): InputError {
    return this.bits.fail(
      `${element} holds none of the ${type.values.length} values of ${type.name}`,
      WRONG_SCHEMA,
      this.bits.position - type.bits - 1,
    );
  }
}
