// Finds the next production by the keys of the message, for states of many: asking a body for every
// message name costs more than looking up the one name that is there.
import type { JsonObject } from '../../trace/observation.ts';
import type { Grammar } from './grammar.ts';
import { END } from './grammar.ts';

/** States of more productions than this are worth an index. */
export const WIDE = 8;

/** No element has this name. */
const END_KEY = '<end>';

export class KeyIndex {
  private readonly grammar: Grammar;
  private readonly states = new Map<number, ReadonlyMap<string, number>>();

  constructor(grammar: Grammar) {
    this.grammar = grammar;
  }

  /**
   * The first production of `state` whose key is in `content` and comes after order `reached`; else
   * the end, or the number after the last production where the element may not end.
   */
  find(state: number, content: JsonObject, reached: number): number {
    const { stateFirst, stateCount, order } = this.grammar;
    const after = stateFirst[state]! + stateCount[state]!;
    const index = this.states.get(state) ?? this.make(state);
    let best = index.get(END_KEY) ?? after;
    for (const name in content) {
      const production = index.get(name) ?? after;
      if (production < best && order[production]! > reached && content[name] !== undefined) {
        best = production;
      }
    }
    return best;
  }

  private make(state: number): ReadonlyMap<string, number> {
    const { stateFirst, stateCount, kind, key } = this.grammar;
    const first = stateFirst[state]!;
    const index = new Map<string, number>();
    for (let production = first; production < first + stateCount[state]!; production += 1) {
      index.set(kind[production] === END ? END_KEY : key[production]!, production);
    }
    this.states.set(state, index);
    return index;
  }
}
