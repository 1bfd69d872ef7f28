// Makes message objects of known keys in one go. Adding keys to an object one by one costs the
// engine a look-up each; a function whose whole body is `return {A: values[at], B: values[at + 1]}`
// costs none and makes the decoder a third faster. Such a function is made for every set of keys
// that is met often, from names that the model's notation has checked; where the host forbids
// making code, there are none and nothing else changes.
import type { Json, JsonObject } from '../../trace/observation.ts';
import type { Grammar } from './grammar.ts';
import { keysByOrder } from './grammar.ts';

/** Makes an object of the values from `at` on. */
type Maker = (values: readonly Json[], at: number) => JsonObject;

/** A set of keys gets its function once it was met so often: a short capture needs none. */
const MEETINGS = 16;
/** Functions of one schema; hostile messages could ask for one for every set of optional keys. */
const MAKERS_MAX = 1024;

/**
 * Keys of order 0 to 30 have a bit each; types with more keys, or with arrays, are made key by key.
 */
const UNSHAPED = -0x8000_0000;
const ORDER_MAX = 30;
/** More than any set of keys: tells first states apart in one number with them. */
const KEY_SETS = 0x8000_0000;

/**
 * The bit of every production's key in the set of keys of its object, UNSHAPED where it has none.
 */
export function keyBitsOf(grammar: Grammar): Int32Array {
  return grammar.target.map((_, production) => {
    const order = grammar.order[production]!;
    return order > ORDER_MAX || grammar.many[production] === 1 ? UNSHAPED : 1 << order;
  });
}

export class Shapes {
  private readonly grammar: Grammar;
  /**
   * The set of keys last asked for, by first state of the type: most messages are like the one
   * before.
   */
  private readonly latestKeys: Int32Array;
  private readonly latestMaker: (Maker | null)[];
  /** By first state and set of keys: the function, or how often it was missed. */
  private readonly known = new Map<number, Maker | number>();

  constructor(grammar: Grammar) {
    this.grammar = grammar;
    this.latestKeys = new Int32Array(grammar.stateFirst.length).fill(UNSHAPED);
    this.latestMaker = Array.from(this.latestKeys, () => null);
  }

  /**
   * The function for the type that begins with state `start` and the set of keys; null if it has
   * none.
   */
  maker(start: number, keys: number): Maker | null {
    return this.latestKeys[start] === keys ? this.latestMaker[start]! : this.find(start, keys);
  }

  private find(start: number, keys: number): Maker | null {
    if (keys < 0) {
      return null;
    }
    const id = start * KEY_SETS + keys;
    const known = this.known.get(id) ?? 0;
    if (typeof known === 'function') {
      this.latestKeys[start] = keys;
      this.latestMaker[start] = known;
      return known;
    }
    if (known > 0 || this.known.size < MAKERS_MAX) {
      const maker = known === MEETINGS ? compile(keysByOrder(this.grammar, start), keys) : null;
      this.known.set(id, maker ?? known + 1);
    }
    return null;
  }
}

function compile(names: readonly string[], keys: number): Maker | null {
  const fields = names
    .filter((_, order) => order <= ORDER_MAX && (keys & (1 << order)) !== 0)
    .map((name, at) => `${JSON.stringify(name)}: values[at + ${at}]`);
  try {
    return new Function('values', 'at', `return {${fields.join(', ')}};`) as Maker;
  } catch {
    // The host forbids making code from strings.
    return null;
  }
}
