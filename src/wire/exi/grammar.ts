// The grammar of one schema as flat tables: what bits may come next in which state, and what they
// mean.
import type { ValueType } from './value-types.ts';
import { builtIn } from './value-types.ts';

// Kinds of production. Plain numbers, because the reader and writer switch on them for every value.
/** An element with simple content: its value follows. */
export const LEAF = 0;
/** An element with a state of its own. */
export const ELEMENT = 1;
/** The end of the element this state belongs to. */
export const END = 2;
/** An attribute: its value follows. */
export const ATTRIBUTE = 3;
/** The typed value of an element that may have attributes. */
export const CONTENT = 4;
/** Text between the elements of mixed content. */
export const TEXT = 5;
/** Any element at all (a wildcard). */
export const ANY = 6;
/** An element that has a code and may not be used: abstract, or known by name only. */
export const REFUSED = 7;

/** Key of the value of an element that may have attributes, and of the text of mixed content. */
export const VALUE_KEY = '$';

/** Text of mixed content has no type of its own: it is a string. */
export const TEXT_TYPE: ValueType = builtIn('string')!;

/**
 * Productions of state `s` are `stateFirst[s]` to `stateFirst[s] + stateCount[s] - 1`, in the order
 * of their event codes; the code after the last is the escape to the second level (EXI 1.0,
 * 8.5.4.4.1, not strict).
 */
export interface Grammar {
  readonly name: string;
  stateFirst: Int32Array;
  stateCount: Uint16Array;
  /** Bits of an event code, the escape counted in. */
  stateBits: Uint8Array;
  kind: Uint8Array;
  /** Key in the message: element name, `@` and attribute name, or `$`. */
  key: string[];
  /** LEAF, ATTRIBUTE, CONTENT: index into `values`. ELEMENT: its first state. */
  target: Int32Array;
  /** State that follows; -1 - n to stay in this state and count the loop `n`. */
  next: Int32Array;
  /**
   * How many items a bounded repetition allows in its state, and the state after the last of them.
   */
  loopItems: Uint16Array;
  loopAfter: Int32Array;
  /** Position of the key among those of its type, ascending along the content. */
  order: Uint16Array;
  /** 1 where the element may repeat: the message then holds an array. */
  many: Uint8Array;
  /** Number of the qualified name: strings have one value partition a name. */
  partition: Uint16Array;
  values: ValueType[];
  partitions: number;
  /** Global elements in the order of the document table: their productions (`next` is unused). */
  documentFirst: number;
  documentCount: number;
  documentBits: number;
  /** The element whose content is the message; null when a message is `{NAME: content}`. */
  document: string | null;
}

/**
 * All keys of the type that begins with state `start`, by their order; `$` last where text may
 * stand.
 */
export function keysByOrder(grammar: Grammar, start: number): string[] {
  const states = new Set([start]);
  const keys: string[] = [];
  let text = false;
  for (const state of states) {
    const first = grammar.stateFirst[state]!;
    for (let production = first; production < first + grammar.stateCount[state]!; production += 1) {
      const kind = grammar.kind[production]!;
      if (kind !== END) {
        const next = grammar.next[production]!;
        states.add(next < 0 ? grammar.loopAfter[-1 - next]! : next);
      }
      text ||= kind === TEXT;
      if (kind !== END && kind !== TEXT && kind !== ANY) {
        keys[grammar.order[production]!] = grammar.key[production]!;
      }
    }
  }
  if (text) {
    keys.push(VALUE_KEY);
  }
  return keys;
}
