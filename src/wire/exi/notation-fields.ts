// Reads the fields of a type in the notation of message models (notation.ts).
import type { InputError } from '../../trace/input-error.ts';
import type { Attribute, Particle, Term } from './model.ts';

/** Makes the error that tells file and line. */
export type Fail = (what: string, mend: string) => InputError;

/** A bounded repetition costs one grammar state an item. */
const OCCURS_MAX = 4096;

/** Names become keys of messages: nothing that an object has of itself. */
const NAME = /^[A-Za-z][\w.-]*$/;

export function attributeOf(fail: Fail, words: readonly string[]): Attribute {
  const [first, type, mark] = words;
  if (first === undefined || type === undefined || (mark !== undefined && mark !== '?')) {
    throw fail('an attribute that cannot be read', 'write: @NAME TYPE [?]');
  }
  return { name: nameOf(fail, first.slice(1)), type: bare(type), optional: mark === '?' };
}

export function particleOf(fail: Fail, words: readonly string[], namespace: string): Particle {
  const [first] = words;
  if (first === 'repeat') {
    const options = choiceOf(fail, words.slice(2), namespace);
    return { ...occursOf(fail, words[1]), options };
  }
  if (first === 'choice') {
    return { min: 1, max: 1, options: choiceOf(fail, words, namespace) };
  }
  return { ...occursOf(fail, words[2]), options: [termOf(fail, words.slice(0, 2), namespace)] };
}

function choiceOf(fail: Fail, words: readonly string[], namespace: string): Term[] {
  if (words[0] !== 'choice') {
    throw fail('repeat without choice', 'write: repeat m..n choice FIELD | FIELD');
  }
  const parts = words.slice(1).join(' ').split('|');
  return parts.map((part) => termOf(fail, part.trim().split(' '), namespace));
}

function termOf(fail: Fail, words: readonly string[], namespace: string): Term {
  const [first, second] = words;
  if (first === undefined || second === undefined || words.length !== 2) {
    throw fail('a field that cannot be read', 'write: NAME TYPE [?|m..n]');
  }
  if (first === 'ref') {
    return { kind: 'reference', name: bare(second) };
  }
  if (first === 'any') {
    return { kind: 'any' };
  }
  return { kind: 'element', name: nameOf(fail, first), namespace, type: bare(second) };
}

function occursOf(fail: Fail, mark: string | undefined): { min: number; max: number } {
  if (mark === undefined) {
    return { min: 1, max: 1 };
  }
  if (mark === '?') {
    return { min: 0, max: 1 };
  }
  const [low, high] = mark.split('..');
  const min = integerOf(fail, low ?? '');
  const max = high === 'unbounded' ? Infinity : integerOf(fail, high ?? '');
  const largest = max === Infinity ? min : max;
  if (min < 0 || max < 1 || min > max || largest > OCCURS_MAX) {
    const what = `occurrence ${mark} is empty or too large`;
    throw fail(what, `at most ${OCCURS_MAX}, or unbounded`);
  }
  return { min, max };
}

export function integerOf(fail: Fail, word: string): number {
  if (!/^-?\d{1,15}$/.test(word)) {
    throw fail(`${word || 'nothing'} where an integer belongs`, 'write decimal digits');
  }
  return Number(word);
}

export function nameOf(fail: Fail, word: string): string {
  if (!NAME.test(word) || word in Object.prototype) {
    throw fail(`${word} is no name`, 'begin with a letter; letters, digits, _ - . may follow');
  }
  return word;
}

/** `ds:Signature` → `Signature`: names are unique over a model, the prefix is for the reader. */
export function bare(name: string): string {
  return name.slice(name.indexOf(':') + 1);
}
