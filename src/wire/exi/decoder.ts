// Reads a stream along the grammar tables. One instance serves one schema and is used again for every message.
import { InputError } from '../../trace/input-error.ts';
import type { Json, JsonObject } from '../../trace/observation.ts';
import { BitReader } from './bits.ts';
import type { Grammar } from './grammar.ts';
import * as G from './grammar.ts';
import { DEPTH_MAX, HEADER, REPEATS_MAX } from './limits.ts';
import { ValueReader } from './value-reader.ts';
import type { ValueType } from './value-types.ts';

/** The second level of a state that holds a value has seven productions, the first of them the end (8.5.4.4.1). */
const SECOND_LEVEL_BITS = 3;

const WRONG_SCHEMA = 'check that the message is of this schema and arrived whole';

export class Decoder {
  private readonly grammar: Grammar;
  private readonly bits = new BitReader();
  private readonly values: ValueReader;
  private depth = 0;

  constructor(grammar: Grammar) {
    this.grammar = grammar;
    this.values = new ValueReader(this.bits, grammar.partitions);
  }

  decode(bytes: Uint8Array): JsonObject {
    this.depth = 0;
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
    const { bits } = this;
    const { stateFirst, stateCount, stateBits, kind, key, target, next, many } = this.grammar;
    this.descend();
    const object: JsonObject = {};
    let state = start;
    for (;;) {
      const code = bits.read(stateBits[state]!);
      if (code >= stateCount[state]!) {
        this.escape(state, code, object);
        break;
      }
      const production = stateFirst[state]! + code;
      const what = kind[production]!;
      if (what === G.END) {
        break;
      }
      const name = key[production]!;
      let value: Json;
      if (what === G.LEAF) {
        value = this.leaf(name, target[production]!, production);
      } else if (what === G.ELEMENT) {
        value = this.element(target[production]!, this.grammar.partition[production]!);
      } else {
        value = this.rare(object, production, partition);
      }
      if (many[production] === 1) {
        this.append(object, name, value);
      } else {
        object[name] = value;
      }
      state = next[production]!;
    }
    this.depth -= 1;
    return object;
  }

  /** The value of an element without attributes, with the codes for its content and its end around it. */
  private leaf(name: string, target: number, production: number): Json {
    const { bits } = this;
    const type = this.grammar.values[target]!;
    if (type.kind === 'listed') {
      // All three in one read. A content code other than 0 makes the value one that is not listed.
      const word = bits.read(type.bits + 2);
      const value = type.values[word >>> 1];
      if (value === undefined || (word & 1) !== 0) {
        throw this.values.refuse(name, type);
      }
      return value;
    }
    if (bits.read(1) !== 0) {
      return this.empty(name, type);
    }
    const value = this.values.read(type, this.grammar.partition[production]!);
    if (bits.read(1) !== 0) {
      throw bits.fail(`${name} does not end after its value`, WRONG_SCHEMA, bits.position - 1);
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

  private rare(object: JsonObject, production: number, partition: number): Json {
    const { bits, grammar } = this;
    const name = grammar.key[production]!;
    const type = grammar.values[grammar.target[production]!];
    switch (grammar.kind[production]) {
      case G.ATTRIBUTE:
        return this.values.read(type!, grammar.partition[production]!);
      case G.CONTENT:
        return this.values.read(type!, partition);
      case G.TEXT: {
        // Text keeps its order among itself, not among the elements it stands between.
        const before = object[name];
        const text = this.values.read(G.TEXT_TYPE, partition);
        return typeof before === 'string' ? before + text : text;
      }
      case G.ANY:
        throw bits.fail('an element foreign to the schema', 'handfast reads none of them');
      default: {
        const what = `${name} cannot be read: it is abstract, or its content is not modelled`;
        throw bits.fail(what, `complete the model of ${grammar.name}`);
      }
    }
  }

  private append(object: JsonObject, name: string, value: Json): void {
    const list = object[name];
    if (!Array.isArray(list)) {
      object[name] = [value];
      return;
    }
    if (list.length >= REPEATS_MAX) {
      const mend = `at most ${REPEATS_MAX} are read`;
      throw this.bits.fail(`${name} repeats too often`, mend);
    }
    list.push(value);
  }

  /** A code that no production has. The one way on is the end of an element whose value is empty. */
  private escape(state: number, code: number, object: JsonObject): void {
    const { bits, grammar } = this;
    const count = grammar.stateCount[state]!;
    const first = grammar.stateFirst[state]!;
    const last = first + count - 1;
    const position = bits.position - grammar.stateBits[state]!;
    if (code === count && grammar.kind[last] === G.CONTENT) {
      object[grammar.key[last]!] = this.empty('an element', grammar.values[grammar.target[last]!]!);
      return;
    }
    const names = grammar.key.slice(first, last + 1).map((name) => name || 'the end');
    const what = `code ${code} where the schema has ${names.join(', ')}`;
    throw bits.fail(what, WRONG_SCHEMA, position);
  }

  private descend(): void {
    this.depth += 1;
    if (this.depth > DEPTH_MAX) {
      const mend = `at most ${DEPTH_MAX} levels are read`;
      throw new InputError('elements nested too deeply', { byte: this.bits.position >>> 3 }, mend);
    }
  }
}
