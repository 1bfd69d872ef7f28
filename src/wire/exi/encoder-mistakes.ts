// What is wrong with the keys of an object that the encoder cannot place. Slow, and only on the way
// to an error.
import type { JsonObject } from '../../trace/observation.ts';
import type { Grammar } from './grammar.ts';
import { TEXT, keysByOrder } from './grammar.ts';

/** What a state needs and the object has not. */
export function missing(
  grammar: Grammar,
  state: number,
  reached: number,
): { what: string; mend: string } {
  const { key, order } = grammar;
  const names: string[] = [];
  const first = grammar.stateFirst[state]!;
  for (let at = first; at < first + grammar.stateCount[state]!; at += 1) {
    if (order[at]! >= reached && key[at] !== '' && grammar.kind[at] !== TEXT) {
      names.push(key[at]!);
    }
  }
  // The last of a state is the one that may not be left out.
  const mend = names.length > 1 ? `what may come here: ${names.join(', ')}` : 'add it';
  return { what: `${names.at(-1) ?? 'an element foreign to the schema'} is missing`, mend };
}

/** The key that is unknown, or excluded by another; null if all that is left over has no value. */
export function leftOver(
  grammar: Grammar,
  start: number,
  content: JsonObject,
  taken: number,
): { key: string; what: string; mend: string } | null {
  const present = Object.keys(content).filter((key) => content[key] !== undefined);
  if (present.length === taken) {
    return null;
  }
  const names = keysByOrder(grammar, start).filter((name) => name !== undefined);
  const known = names.join(', ') || 'none at all';
  const mend = `the schema has here: ${known}`;
  const key = present.find((name) => !names.includes(name));
  if (key !== undefined) {
    return { key, what: 'unknown', mend };
  }
  return { key: '', what: `holds fields that exclude each other: ${present.join(', ')}`, mend };
}
