// Lays states out as the flat tables of a grammar.
import { InputError } from '../../trace/input-error.ts';
import type { Grammar } from './grammar.ts';
import { END } from './grammar.ts';
import { bitsFor } from './value-types.ts';

/** One row of the tables; grammar.ts says what each column means. */
export interface Production {
  kind: number;
  key: string;
  target: number;
  next: number;
  order: number;
  many: boolean;
  partition: number;
}

export const end: Production = {
  kind: END,
  key: '',
  target: -1,
  next: -1,
  order: 0xffff,
  many: false,
  partition: 0,
};

/**
 * The writer puts an event code and a listed value into one write of 24 bits: the code has 10 of
 * them.
 */
const PRODUCTIONS_MAX = 1023;

/** All states one after the other, then the document table. */
export function layOut(
  name: string,
  types: readonly Production[][],
  document: Production[],
  rest: Pick<Grammar, 'document' | 'values' | 'partitions' | 'loopItems' | 'loopAfter'>,
): Grammar {
  const states = [...types, document];
  const count = states.reduce((sum, state) => sum + state.length, 0);
  const grammar: Grammar = {
    ...rest,
    name,
    stateFirst: new Int32Array(states.length),
    stateCount: new Uint16Array(states.length),
    stateBits: new Uint8Array(states.length),
    kind: new Uint8Array(count),
    key: [],
    target: new Int32Array(count),
    next: new Int32Array(count),
    order: new Uint16Array(count),
    many: new Uint8Array(count),
    partition: new Uint16Array(count),
    documentFirst: count - document.length,
    documentCount: document.length,
    documentBits: bitsFor(document.length + 1),
  };
  let at = 0;
  for (const [index, state] of states.entries()) {
    if (state.length > PRODUCTIONS_MAX) {
      const what = `${state.length} elements may come in one place`;
      throw new InputError(what, {}, `at most ${PRODUCTIONS_MAX} can be told apart here`);
    }
    grammar.stateFirst[index] = at;
    grammar.stateCount[index] = state.length;
    grammar.stateBits[index] = bitsFor(state.length + 1);
    for (const production of state) {
      grammar.kind[at] = production.kind;
      grammar.key.push(production.key);
      grammar.target[at] = production.target;
      grammar.next[at] = production.next;
      grammar.order[at] = production.order;
      grammar.many[at] = production.many ? 1 : 0;
      grammar.partition[at] = production.partition;
      at += 1;
    }
  }
  return grammar;
}
