// Builds the schema-informed grammars of W3C EXI 1.0 (section 8.5.4) from a message model.
import type { Model } from './model.ts';
import { ModelIndex, byName, unknown } from './model-index.ts';
import type { FlatType, Option } from './model-index.ts';
import type { Grammar } from './grammar.ts';
import * as G from './grammar.ts';
import { end, layOut } from './grammar-tables.ts';
import type { Production } from './grammar-tables.ts';
import { valueType } from './value-types.ts';
import type { ValueType } from './value-types.ts';

/**
 * Where in a type a state stands: before attribute n (and all that follows) at -1 - n; where
 * particle n has come m times at COUNTS * n + m; after the value of simple content.
 */
const COUNTS = 8192;
const AFTER_VALUE = Number.MIN_SAFE_INTEGER;

/** Stands for the productions of a state until they are made. */
const LATER: Production[] = [];
const attributePlace = (index: number): number => -1 - index;

/** A complex type being turned into states. */
interface Content extends FlatType {
  /** Productions of each slot, `next` left open; made when needed, as a type may hold itself. */
  slotProductions: (Production[] | undefined)[];
  /** Numbers of its states, by place. */
  states: Map<number, number>;
}

/**
 * Builds all tables of a schema. Throws InputError when the model names what it does not declare.
 */
export function buildGrammar(name: string, model: Model): Grammar {
  return new GrammarBuilder(model).build(name);
}

class GrammarBuilder {
  private readonly model: Model;
  private readonly states: Production[][] = [];
  private readonly pending: { content: Content; place: number; state: number }[] = [];
  private readonly loops: { items: number; after: number }[] = [];
  private readonly starts = new Map<string, number>();
  private readonly values: ValueType[] = [];
  private readonly valueIndex = new Map<string, number>();
  private readonly partitions = new Map<string, number>();
  private readonly index: ModelIndex;

  constructor(model: Model) {
    this.model = model;
    this.index = new ModelIndex(model);
  }

  build(name: string): Grammar {
    // The document table: all global elements by local name, then SE(*), without an escape (8.4.2).
    const globals = [...this.model.elements.values()].sort(byName);
    const document = globals.map((element) => this.production(element, 0, false));
    for (let next = this.pending.pop(); next !== undefined; next = this.pending.pop()) {
      this.states[next.state] = this.productions(next.content, next.place);
    }
    if (this.model.document !== null) {
      this.index.global(this.model.document);
    }
    return layOut(name, this.states, document, {
      document: this.model.document,
      values: this.values,
      partitions: this.partitions.size,
      loopItems: Uint16Array.from(this.loops, (loop) => loop.items),
      loopAfter: Int32Array.from(this.loops, (loop) => loop.after),
    });
  }

  /** First state of a complex type. */
  private start(typeName: string): number {
    let state = this.starts.get(typeName);
    if (state === undefined) {
      const flat = this.index.flatten(typeName);
      const content = { ...flat, slotProductions: [], states: new Map<number, number>() };
      state = this.state(content, attributePlace(0));
      this.starts.set(typeName, state);
    }
    return state;
  }

  /** The number of a state; its productions are made later, so that a type may hold itself. */
  private state(content: Content, place: number): number {
    const known = content.states.get(place);
    if (known !== undefined) {
      return known;
    }
    const state = this.states.push(LATER) - 1;
    content.states.set(place, state);
    this.pending.push({ content, place, state });
    return state;
  }

  private productions(content: Content, place: number): Production[] {
    if (place === AFTER_VALUE) {
      return [end];
    }
    return place < 0
      ? this.attributeState(content, -1 - place)
      : this.contentState(content, Math.floor(place / COUNTS), place % COUNTS);
  }

  /**
   * A state of the attributes: those from `at` on, to the first required one, else what follows
   * too.
   */
  private attributeState(content: Content, at: number): Production[] {
    const productions: Production[] = [];
    for (let index = at; index < content.attributes.length; index += 1) {
      const attribute = content.attributes[index]!;
      productions.push({
        kind: G.ATTRIBUTE,
        key: `@${attribute.name}`,
        target: this.value(attribute.type),
        next: this.state(content, attributePlace(index + 1)),
        order: index,
        many: false,
        partition: this.partition('', attribute.name),
      });
      if (!attribute.optional) {
        return productions;
      }
    }
    const { simple } = content;
    if (simple === null) {
      return [...productions, ...this.contentState(content, 0, 0)];
    }
    const next = this.state(content, AFTER_VALUE);
    const order = content.attributes.length;
    const value = { ...end, kind: G.CONTENT, key: G.VALUE_KEY, target: this.value(simple) };
    return [...productions, { ...value, next, order }];
  }

  /**
   * The state in which particle `at` has come `count` times: what may come next, through all
   * particles that may be left out. Order within a state: named elements, wildcard, end, text
   * (8.5.4.1.3.2 and 8.5.4.3).
   */
  private contentState(content: Content, at: number, count: number): Production[] {
    const productions: Production[] = [];
    let wild = false;
    let came = count;
    let index = at;
    for (; index < content.slots.length; index += 1, came = 0) {
      const slot = content.slots[index]!;
      if (came < slot.max) {
        const next = this.afterItem(content, index, came);
        content.slotProductions[index] ??= slot.options.map((element, option) =>
          this.production(element, slot.order + option, slot.max > 1),
        );
        for (const production of content.slotProductions[index]!) {
          productions.push({ ...production, next });
          wild ||= production.kind === G.ANY;
        }
      }
      if (came < slot.min) {
        break;
      }
    }
    if (wild) {
      productions.sort((a, b) => Number(a.kind === G.ANY) - Number(b.kind === G.ANY));
    }
    if (index === content.slots.length) {
      productions.push(end);
    }
    if (content.mixed) {
      const next = this.state(content, at * COUNTS + count);
      productions.push({ ...end, kind: G.TEXT, key: G.VALUE_KEY, next });
    }
    return productions;
  }

  /** The state after another item of a particle that has come `came` times, or a loop. */
  private afterItem(content: Content, index: number, came: number): number {
    const { min, max } = content.slots[index]!;
    // Once it has come often enough, an unbounded particle loops on one state. So does a bounded
    // one that may come more often, counting: its states would be alike but for the last.
    const enough = Math.max(min, 1);
    if (max === Infinity) {
      return this.state(content, index * COUNTS + Math.min(came + 1, min));
    }
    if (came < enough || max - enough < 2) {
      return this.state(content, index * COUNTS + came + 1);
    }
    const after = this.state(content, index * COUNTS + max);
    return -this.loops.push({ items: max - enough, after });
  }

  private production(element: Option, order: number, many: boolean): Production {
    if (element === null) {
      return { ...end, kind: G.ANY, order };
    }
    const { name, type } = element;
    if (element.abstract || element.partial) {
      return { ...end, kind: G.REFUSED, key: name, order, many };
    }
    const partition = this.partition(element.namespace, name);
    const complex = this.model.complex.has(type);
    const target = complex ? this.start(type) : this.value(type);
    return {
      ...end,
      kind: complex ? G.ELEMENT : G.LEAF,
      key: name,
      target,
      order,
      many,
      partition,
    };
  }

  private value(name: string): number {
    let index = this.valueIndex.get(name);
    if (index === undefined) {
      const type = valueType(name, this.model.simple);
      if (type === undefined) {
        throw unknown('type', name);
      }
      index = this.values.push(type) - 1;
      this.valueIndex.set(name, index);
    }
    return index;
  }

  private partition(namespace: string, name: string): number {
    const key = `${namespace}:${name}`;
    const partition = this.partitions.get(key) ?? this.partitions.size;
    this.partitions.set(key, partition);
    return partition;
  }
}
