// Reads a stream along the grammar tables. One instance serves one schema and is used again for
// every message.
import { InputError } from '../../trace/input-error.ts';
import type { Json, JsonObject } from '../../trace/observation.ts';
import { BitReader } from './bits.ts';
import type { Grammar } from './grammar.ts';
import * as G from './grammar.ts';
import { DEPTH_MAX, HEADER, REPEATS_MAX } from './limits.ts';
import { Shapes, keyBitsOf } from './shapes.ts';
import { ValueReader } from './value-reader.ts';
import type { ValueType } from './value-types.ts';

/**
 * The second level of a state that holds a value has seven productions, the first of them the end
 * (8.5.4.4.1).
 */
const SECOND_LEVEL_BITS = 3;

const WRONG_SCHEMA = 'check that the message is of this schema and arrived whole';

export class Decoder {
  private readonly grammar: Grammar;
  private readonly bits = new BitReader();
  private readonly values: ValueReader;
  private readonly shapes: Shapes;
  private readonly keyBits: Int32Array;
  /** Values of the elements being read, outer ones first, and the productions that gave them. */
  private readonly found: Json[] = [];
  private readonly foundBy: number[] = [];
  private top = 0;
  private depth = 0;

  constructor(grammar: Grammar) {
    this.grammar = grammar;
    this.values = new ValueReader(this.bits, grammar.partitions);
    this.shapes = new Shapes(grammar);
    this.keyBits = keyBitsOf(grammar);
  }

  decode(bytes: Uint8Array): JsonObject {
    this.depth = 0;
    this.top = 0;
    this.bits.load(bytes);
    try {
      return this.stream();
    } finally {
      this.values.reset();
    }
  }

  private stream(): JsonObject {
    const { grammar, bits } = this;
    const header = bits.read(8);
    if (header !== HEADER) {
      const mend = 'messages start with 80 hexadecimal: EXI 1.0 without options';
      throw bits.fail(`${header.toString(16).padStart(2, '0')} is no EXI header`, mend, 0);
    }
    const code = bits.read(grammar.documentBits);
    const root = grammar.documentFirst + code;
    const key = code < grammar.documentCount ? grammar.key[root]! : '';
    const { document } = grammar;
    if (grammar.kind[root] !== G.ELEMENT || (document !== null && key !== document)) {
      const found = key === '' ? `code ${code}` : key;
      const what = `${found} is no message of ${grammar.name}`;
      throw bits.fail(what, 'check which schema the handshake agreed on', 8);
    }
    const message = this.element(grammar.target[root]!, grammar.partition[root]!);
    bits.finish();
    return document === null ? { [key]: message } : message;
  }

  /** The content of one element, from its first state to its end. */
  private element(start: number, partition: number): JsonObject {
    const { bits, keyBits, found, foundBy } = this;
    const { stateFirst, stateCount, stateBits, kind, target, next, loopItems } = this.grammar;
    this.descend();
    const base = this.top;
    let keys = 0;
    let state = start;
    let run = 0;
    for (;;) {
      const code = bits.read(stateBits[state]!);
      let production = stateFirst[state]! + code;
      let value: Json;
      if (code >= stateCount[state]!) {
        production = this.escape(state, code);
        value = '';
      } else if (kind[production] === G.LEAF) {
        value = this.leaf(production);
      } else if (kind[production] === G.END) {
        break;
      } else if (kind[production] === G.ELEMENT) {
        value = this.element(target[production]!, this.grammar.partition[production]!);
      } else {
        value = this.rare(production, partition);
      }
      const { top } = this;
      if (top - base >= REPEATS_MAX) {
        throw this.overlong(top);
      }
      found[top] = value;
      foundBy[top] = production;
      this.top = top + 1;
      keys |= keyBits[production]!;
      if (code >= stateCount[state]!) {
        break;
      }
      const after = next[production]!;
      if (after < 0) {
        run += 1;
        if (run === loopItems[-1 - after]) {
          state = this.grammar.loopAfter[-1 - after]!;
          run = 0;
        }
      } else if (after !== state) {
        state = after;
        run = 0;
      }
    }
    this.depth -= 1;
    const maker = this.shapes.maker(start, keys);
    const object = maker === null ? this.keyByKey(base) : maker(found, base);
    this.top = base;
    return object;
  }

  /** An object of the values found from `base` on. */
  private keyByKey(base: number): JsonObject {
    const { key, many, kind } = this.grammar;
    const object: JsonObject = {};
    for (let at = base; at < this.top; at += 1) {
      const production = this.foundBy[at]!;
      const name = key[production]!;
      const value = this.found[at]!;
      const before = object[name];
      if (many[production] === 0) {
        // Text of mixed content keeps its order among itself, not among the elements it stands
        // between.
        const text = kind[production] === G.TEXT && before !== undefined;
        object[name] = text ? `${before as string}${value as string}` : value;
      } else if (Array.isArray(before)) {
        before.push(value);
      } else {
        object[name] = [value];
      }
    }
    return object;
  }

  /**
   * The value of an element without attributes, with the codes for its content and its end around
   * it.
   */
  private leaf(production: number): Json {
    const { bits } = this;
    const type = this.grammar.values[this.grammar.target[production]!]!;
    if (type.kind === 'listed') {
      // All three in one read. A content code other than 0 makes the value one that is not listed.
      const word = bits.read(type.bits + 2);
      const value = type.values[word >>> 1];
      if (value === undefined || (word & 1) !== 0) {
        throw this.values.refuse(this.grammar.key[production]!, type);
      }
      return value;
    }
    if (type.kind === 'integer') {
      // Most are of one or two octets and come in one look: content code, sign, octets, end code.
      const word = bits.peek();
      const low = (word >>> 22) & 0xff;
      const high = low < 0x80 ? 0 : (word >>> 14) & 0xff;
      const ends = low < 0x80 ? (word >>> 21) & 1 : (word >>> 13) & 1;
      if (word >= 0 && high < 0x80 && ends === 0) {
        bits.skip(low < 0x80 ? 11 : 19);
        const magnitude = (low & 0x7f) | (high << 7);
        return (word & 0x4000_0000) === 0 ? magnitude : -1 - magnitude;
      }
    }
    if (bits.read(1) !== 0) {
      return this.empty(this.grammar.key[production]!, type);
    }
    const value = this.values.read(type, this.grammar.partition[production]!);
    if (bits.read(1) !== 0) {
      const what = `${this.grammar.key[production]} does not end after its value`;
      throw bits.fail(what, WRONG_SCHEMA, bits.position - 1);
    }
    return value;
  }

  /** Some encoders leave out the characters of an empty value and end the element by the escape. */
  private empty(name: string, type: ValueType): Json {
    const position = this.bits.position;
    const code = this.bits.read(SECOND_LEVEL_BITS);
    if (code !== 0 || (type.kind !== 'string' && type.kind !== 'hex' && type.kind !== 'base64')) {
      throw this.bits.fail(
        `${name} leaves the schema where its value belongs`,
        WRONG_SCHEMA,
        position,
      );
    }
    return '';
  }

  private rare(production: number, partition: number): Json {
    const { bits, grammar } = this;
    const type = grammar.values[grammar.target[production]!];
    switch (grammar.kind[production]) {
      case G.ATTRIBUTE:
        return this.values.read(type!, grammar.partition[production]!);
      case G.CONTENT:
        return this.values.read(type!, partition);
      case G.TEXT:
        return this.values.read(G.TEXT_TYPE, partition);
      case G.ANY:
        throw bits.fail('an element foreign to the schema', 'handfast reads none of them');
      default: {
        const name = grammar.key[production]!;
        const what = `${name} cannot be read: it is abstract, or its content is not modelled`;
        throw bits.fail(what, `complete the model of ${grammar.name}`);
      }
    }
  }

  /**
   * A code that no production has. The one way on is the end of an element whose value is empty.
   */
  private escape(state: number, code: number): number {
    const { bits, grammar } = this;
    const count = grammar.stateCount[state]!;
    const first = grammar.stateFirst[state]!;
    const last = first + count - 1;
    if (code === count && grammar.kind[last] === G.CONTENT) {
      this.empty('an element', grammar.values[grammar.target[last]!]!);
      return last;
    }
    const names = grammar.key.slice(first, last + 1).map((name) => name || 'the end');
    const what = `code ${code} where the schema has ${names.join(', ')}`;
    throw bits.fail(what, WRONG_SCHEMA, bits.position - grammar.stateBits[state]!);
  }

  private overlong(top: number): InputError {
    const what = `more than ${REPEATS_MAX} items in one element`;
    return this.bits.fail(what, `the last was ${this.grammar.key[this.foundBy[top - 1]!]}`);
  }

  private descend(): void {
    this.depth += 1;
    if (this.depth > DEPTH_MAX) {
      const mend = `at most ${DEPTH_MAX} levels are read`;
      throw new InputError('elements nested too deeply', { byte: this.bits.position >>> 3 }, mend);
    }
  }
}
