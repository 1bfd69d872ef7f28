// Writes a message along the grammar tables. One instance serves one schema and is used again for
// every message.
import { InputError } from '../../trace/input-error.ts';
import type { Json, JsonObject } from '../../trace/observation.ts';
import { BitWriter } from './bits.ts';
import type { Grammar } from './grammar.ts';
import * as G from './grammar.ts';
import { leftOver, missing } from './encoder-mistakes.ts';
import { KeyIndex, WIDE } from './key-index.ts';
import { DEPTH_MAX, HEADER, REPEATS_MAX } from './limits.ts';
import type { Refusal } from './value-writer.ts';
import { ValueWriter, refuseListed } from './value-writer.ts';

export class Encoder {
  private readonly grammar: Grammar;
  private readonly bits = new BitWriter();
  private readonly values: ValueWriter;
  /** Keys, and numbers within their arrays (else -1), that lead to the element being written. */
  private readonly path: string[] = [];
  private readonly indices: number[] = [];
  private depth = 0;
  /**
   * Items written in the loop of the current state: a choice that repeats fills it by several
   * arrays.
   */
  private run = 0;
  private readonly index: KeyIndex;
  /** Productions of the global elements, by name. */
  private readonly roots: ReadonlyMap<string, number>;

  constructor(grammar: Grammar) {
    this.grammar = grammar;
    this.values = new ValueWriter(this.bits, grammar.partitions);
    this.index = new KeyIndex(grammar);
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

  /**
   * Writes the content of one element: keys are taken in the order of the schema, whatever theirs
   * is.
   */
  private element(start: number, content: Json | undefined, partition: number): void {
    if (!isObject(content)) {
      throw this.error('', { what: 'no object', mend: 'give its fields by their names' });
    }
    const { stateFirst, stateCount, stateBits, kind, key, next, order, many } = this.grammar;
    let state = start;
    let reached = -1;
    let taken = 0;
    let textSought = false;
    let run = 0;
    for (;;) {
      const first = stateFirst[state]!;
      const after = first + stateCount[state]!;
      let production = after - first > WIDE ? this.index.find(state, content, reached) : first;
      let value: Json | undefined;
      for (; production < after && kind[production] !== G.END; production += 1) {
        if (order[production]! > reached) {
          value = content[key[production]!];
          if (value !== undefined) {
            break;
          }
        }
      }
      if (kind[after - 1] === G.TEXT && !textSought && kind[production] !== G.ATTRIBUTE) {
        // Text comes once, after the attributes and before the elements it may have stood between.
        textSought = true;
        if (content[G.VALUE_KEY] !== undefined) {
          taken += 1;
          this.one(state, after - 1, content[G.VALUE_KEY], partition, -1);
          state = next[after - 1]!;
          continue;
        }
      }
      if (production === after) {
        throw this.error('', missing(this.grammar, state, reached));
      }
      if (kind[production] === G.END) {
        this.bits.write(production - first, stateBits[state]!);
        break;
      }
      reached = order[production]!;
      taken += 1;
      if (many[production] === 1) {
        this.run = run;
        state = this.items(state, production, value, partition);
        run = this.run;
      } else {
        this.one(state, production, value, partition, -1);
        state = next[production]!;
        run = 0;
      }
    }
    this.judgeKeys(start, content, taken);
  }

  /** Writes an array, item by item, and gives the state after it. */
  private items(
    start: number,
    repeating: number,
    value: Json | undefined,
    partition: number,
  ): number {
    const { stateFirst, stateCount, order, key, loopItems, loopAfter } = this.grammar;
    const place = order[repeating]!;
    const name = key[repeating]!;
    if (!Array.isArray(value) || value.length > REPEATS_MAX) {
      const mend = `give an array of at most ${REPEATS_MAX} items, even for a single one`;
      throw this.error(name, { what: 'no array, or too long a one', mend });
    }
    let state = start;
    let { run } = this;
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
      const next = this.grammar.next[production]!;
      const loop = -1 - next;
      run = next < 0 ? run + 1 : 0;
      if (next >= 0) {
        state = next;
      } else if (run === loopItems[loop]) {
        state = loopAfter[loop]!;
        run = 0;
      }
    }
    this.run = run;
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

  /**
   * An element without attributes: its code, the codes for content and end, the value between them.
   */
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

  /** Every key must have been taken. */
  private judgeKeys(start: number, content: JsonObject, taken: number): void {
    let given = 0;
    for (const _ in content) {
      given += 1;
    }
    if (given !== taken) {
      const left = leftOver(this.grammar, start, content, taken);
      if (left !== null) {
        throw this.error(left.key, left);
      }
    }
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
