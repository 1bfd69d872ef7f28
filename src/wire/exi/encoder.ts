// Writes a message along the grammar tables. One instance serves one schema and is used again for every message.
import { InputError } from '../../trace/input-error.ts';
import type { Json, JsonObject } from '../../trace/observation.ts';
import { BitWriter } from './bits.ts';
import type { Grammar } from './grammar.ts';
import * as G from './grammar.ts';
import { keysByOrder } from './grammar.ts';
import { DEPTH_MAX, HEADER, REPEATS_MAX } from './limits.ts';
import type { Refusal } from './value-writer.ts';
import { ValueWriter, refuseListed } from './value-writer.ts';

/** States of more productions than this are looked up by the keys of the message. */
const WIDE = 8;
/** No element has this name. */
const END_KEY = '<end>';

export class Encoder {
  private readonly grammar: Grammar;
  private readonly bits = new BitWriter();
  private readonly values: ValueWriter;
  /** Keys, and numbers within their arrays (else -1), that lead to the element being written. */
  private readonly path: string[] = [];
  private readonly indices: number[] = [];
  private depth = 0;
  private readonly wideStates = new Map<number, Map<string, number>>();
  /** Productions of the global elements, by name. */
  private readonly roots: ReadonlyMap<string, number>;

  constructor(grammar: Grammar) {
    this.grammar = grammar;
    this.values = new ValueWriter(this.bits, grammar.partitions);
    const names = grammar.key.slice(grammar.documentFirst);
    this.roots = new Map(names.map((name, code) => [name, grammar.documentFirst + code]));
  }

  encode(message: JsonObject): Uint8Array {
    const { grammar, bits } = this;
    this.depth = 0;
    bits.reset();
    bits.write(HEADER, 8);
    try {
      const name = grammar.document ?? this.messageName(message);
      const root = this.roots.get(name)!;
      const content = grammar.document === null ? message[name] : message;
      bits.write(root - grammar.documentFirst, grammar.documentBits);
      this.element(grammar.target[root]!, content, grammar.partition[root]!);
      return bits.finish();
    } finally {
      this.values.reset();
    }
  }

  /** The one key of a message that stands without a frame around it. */
  private messageName(message: Json): string {
    const { grammar } = this;
    const names = isObject(message) ? Object.keys(message) : [];
    const root = this.roots.get(names[0] ?? '') ?? -1;
    if (names.length !== 1 || grammar.kind[root] !== G.ELEMENT) {
      const known = [...this.roots.keys()].join(', ');
      throw new InputError(`no message of ${grammar.name}`, {}, `give one key of: ${known}`);
    }
    this.descend(names[0]!, -1);
    return names[0]!;
  }

  /** Writes the content of one element: keys are taken in the order of the schema, whatever theirs is. */
  private element(start: number, content: Json | undefined, partition: number): void {
    if (!isObject(content)) {
      throw this.error('', { what: 'no object', mend: 'give its fields by their names' });
    }
    const { stateFirst, stateCount, stateBits, kind, key, next, order, many } = this.grammar;
    let state = start;
    let reached = -1;
    let taken = 0;
    let texts = 0;
    for (;;) {
      const first = stateFirst[state]!;
      const after = first + stateCount[state]!;
      if (kind[after - 1] === G.TEXT && texts === 0 && content[G.VALUE_KEY] !== undefined) {
        texts = 1;
        this.one(state, after - 1, content[G.VALUE_KEY], partition, -1);
      }
      let production = after - first > WIDE ? this.wide(state, content, reached) : first;
      let value: Json | undefined;
      for (; production < after && kind[production] !== G.END; production += 1) {
        if (order[production]! > reached) {
          value = content[key[production]!];
          if (value !== undefined) {
            break;
          }
        }
      }
      if (production === after) {
        throw this.missing(first, after, reached);
      }
      if (kind[production] === G.END) {
        this.bits.write(production - first, stateBits[state]!);
        break;
      }
      reached = order[production]!;
      taken += 1;
      if (many[production] === 1) {
        state = this.items(state, production, value, partition);
      } else {
        this.one(state, production, value, partition, -1);
        state = next[production]!;
      }
    }
    this.judgeKeys(start, content, taken, texts);
  }

  /**
   * The production to go on from in a state of many: asking for every message name in a body costs more than
   * looking up the one name that is there.
   */
  private wide(state: number, content: JsonObject, reached: number): number {
    const { stateFirst, stateCount, kind, key, order } = this.grammar;
    const first = stateFirst[state]!;
    const after = first + stateCount[state]!;
    let byKey = this.wideStates.get(state);
    if (byKey === undefined) {
      byKey = new Map();
      for (let production = first; production < after; production += 1) {
        byKey.set(kind[production] === G.END ? END_KEY : key[production]!, production);
      }
      this.wideStates.set(state, byKey);
    }
    let best = byKey.get(END_KEY) ?? after;
    for (const name in content) {
      const production = byKey.get(name) ?? after;
      if (production < best && order[production]! > reached && content[name] !== undefined) {
        best = production;
      }
    }
    return best;
  }

  /** Writes an array, item by item, and gives the state after it. */
  private items(
    start: number,
    repeating: number,
    value: Json | undefined,
    partition: number,
  ): number {
    const { stateFirst, stateCount, next, order, key } = this.grammar;
    const place = order[repeating]!;
    const name = key[repeating]!;
    if (!Array.isArray(value) || value.length > REPEATS_MAX) {
      const mend = `give an array of at most ${REPEATS_MAX} items, even for a single one`;
      throw this.error(name, { what: 'no array, or too long a one', mend });
    }
    let state = start;
    for (let index = 0; index < value.length; index += 1) {
      const first = stateFirst[state]!;
      const after = first + stateCount[state]!;
      let production = first;
      while (production < after && order[production] !== place) {
        production += 1;
      }
      if (production === after) {
        throw this.error(name, {
          what: `${value.length} items`,
          mend: `the schema allows ${index} of them`,
        });
      }
      this.one(state, production, value[index], partition, index);
      state = next[production]!;
    }
    return state;
  }

  /** Writes the event code of a production and the value that belongs to it. */
  private one(
    state: number,
    production: number,
    value: Json | undefined,
    partition: number,
    index: number,
  ): void {
    const { bits, grammar, values } = this;
    const { kind, key, target } = grammar;
    const name = key[production]!;
    const code = production - grammar.stateFirst[state]!;
    const width = grammar.stateBits[state]!;
    let refusal: Refusal = null;
    if (kind[production] === G.LEAF) {
      refusal = this.leaf(code, width, production, value as Json);
      if (refusal !== null) {
        throw this.refused(name, index, refusal);
      }
      return;
    }
    bits.write(code, width);
    switch (kind[production]) {
      case G.ELEMENT:
        this.descend(name, index);
        this.element(target[production]!, value, grammar.partition[production]!);
        this.depth -= 1;
        break;
      case G.ATTRIBUTE: {
        const type = grammar.values[target[production]!]!;
        refusal = values.write(type, value as Json, grammar.partition[production]!);
        break;
      }
      case G.CONTENT:
        refusal = values.write(grammar.values[target[production]!]!, value as Json, partition);
        break;
      case G.TEXT:
        refusal = values.write(G.TEXT_TYPE, value as Json, partition);
        break;
      default:
        refusal = {
          what: 'cannot be written: it is abstract, or its content is not modelled',
          mend: `complete the model of ${grammar.name}`,
        };
    }
    if (refusal !== null) {
      throw this.refused(name, index, refusal);
    }
  }

  private refused(
    name: string,
    index: number,
    refusal: { what: string; mend: string },
  ): InputError {
    return this.error(index < 0 ? name : `${name}[${index}]`, refusal);
  }

  /** An element without attributes: its code, the codes for content and end, the value between them. */
  private leaf(code: number, width: number, production: number, value: Json): Refusal {
    const { bits, grammar } = this;
    const type = grammar.values[grammar.target[production]!]!;
    if (type.kind === 'listed') {
      const listed = type.codes.get(value);
      if (listed === undefined) {
        return refuseListed(type, value);
      }
      // All in one: an event code has at most 10 bits, a listed value 12.
      bits.write((code << (type.bits + 2)) | (listed << 1), width + type.bits + 2);
      return null;
    }
    bits.write(code << 1, width + 1);
    const refusal = this.values.write(type, value, grammar.partition[production]!);
    bits.write(0, 1);
    return refusal;
  }

  private descend(name: string, index: number): void {
    if (this.depth >= DEPTH_MAX) {
      const mend = `at most ${DEPTH_MAX} levels are written`;
      throw this.error(name, { what: 'nested too deeply', mend });
    }
    this.path[this.depth] = name;
    this.indices[this.depth] = index;
    this.depth += 1;
  }

  /** Every key must have been taken: one left over is unknown, or excluded by another. */
  private judgeKeys(start: number, content: JsonObject, taken: number, texts: number): void {
    let given = 0;
    for (const _ in content) {
      given += 1;
    }
    if (given === taken + texts) {
      return;
    }
    // Rare: an unknown key, or one that is there without a value.
    const names = keysByOrder(this.grammar, start).filter((name) => name !== undefined);
    const present = Object.keys(content).filter((key) => content[key] !== undefined);
    const unknown = present.find(
      (key) => !names.includes(key) && (texts === 0 || key !== G.VALUE_KEY),
    );
    if (unknown !== undefined) {
      const known = names.join(', ') || 'none at all';
      throw this.error(unknown, { what: 'unknown', mend: `the schema has here: ${known}` });
    }
    if (present.length > taken + texts) {
      const what = `holds fields that exclude each other: ${present.join(', ')}`;
      throw this.error('', { what, mend: 'keep one of them' });
    }
  }

  private missing(first: number, after: number, reached: number): InputError {
    const { key, order } = this.grammar;
    const names: string[] = [];
    for (let production = first; production < after; production += 1) {
      if (order[production]! > reached && key[production] !== '') {
        names.push(key[production]!);
      }
    }
    // The last of a state is the one that may not be left out.
    const mend = names.length > 1 ? `what may come here: ${names.join(', ')}` : 'add it';
    return this.error('', { what: `${names.at(-1) ?? 'an item'} is missing`, mend });
  }

  private error(name: string, refusal: { what: string; mend: string }): InputError {
    const steps = this.path.slice(0, this.depth).map((step, at) => {
      const index = this.indices[at]!;
      return index < 0 ? step : `${step}[${index}]`;
    });
    const place = [...steps, name].filter((step) => step !== '').join('.') || 'the message';
    return new InputError(`${place}: ${refusal.what}`, {}, refusal.mend);
  }
}

function isObject(value: Json | undefined): value is JsonObject {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}
