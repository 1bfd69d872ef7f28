// Reads the notation of the message models, one declaration a line; fields are indented under their type.
//
//   schema NAME URN-BASE              the standard and its namespaces (told, not needed for the codes)
//   ns NAMESPACE                      what follows belongs to it
//   document ELEMENT                  a message is this element's content; else it is {NAME: content}
//   enum NAME v0 v1 …                 string enumeration; the order is the EXI code; indented lines go on
//   int NAME BASE MIN MAX             integer with bounds
//   plain NAME BASE                   alias
//   hex NAME n · b64 NAME n           binary of at most n octets
//   str NAME min max                  string, length in characters
//   type NAME [: BASE] [abstract] [mixed]    type NAME = SIMPLE (simple content with attributes)
//   element NAME [TYPE] [abstract] [partial] [subst HEAD]   without TYPE the fields follow
//   msg NAME [partial]                element NAME with the fields that follow, in the group of BodyElement
//
// Fields: `NAME TYPE [?|m..n]`, `@ATTRIBUTE TYPE [?]`, `ref ELEMENT [?|m..n]`, `any ##other [?|m..n]`,
// `choice FIELD | FIELD …`, `repeat m..n choice FIELD | FIELD …`; a line that begins with | goes on with the
// choice above it. `ns:NAME` names what ns declared; names are
// unique over one model. `partial` says that only the name is known.
import { InputError } from '../../trace/input-error.ts';
import type { ComplexType, GlobalElement, Model, Particle, SimpleType, Term } from './model.ts';

/** A bounded repetition costs one grammar state an item. */
const OCCURS_MAX = 4096;

export interface ModelText {
  name: string;
  text: string;
}

/** Reads model texts into one model. Throws InputError with the text's name and line. */
export function parseModel(texts: readonly ModelText[]): Model {
  const model: Model = {
    document: null,
    simple: new Map(),
    complex: new Map(),
    elements: new Map(),
  };
  for (const text of texts) {
    new NotationReader(model, text.name).read(text.text);
  }
  return model;
}

class NotationReader {
  private readonly model: Model;
  private readonly file: string;
  private line = 0;
  private namespace = '';
  /** The type whose fields follow, or the enumeration whose values may go on. */
  private open: ComplexType | null = null;
  private openValues: string[] | null = null;

  constructor(model: Model, file: string) {
    this.model = model;
    this.file = file;
  }

  read(text: string): void {
    const lines = text.split('\n');
    for (let at = 0; at < lines.length; at += 1) {
      this.line = at + 1;
      let raw = lines[at]!;
      for (; lines[at + 1]?.trimStart().startsWith('|'); at += 1) {
        raw += lines[at + 1]!;
      }
      const words = raw.split(/\s+/).filter((word) => word !== '');
      if (words.length === 0 || words[0]!.startsWith('#')) {
        continue;
      }
      if (raw.startsWith(' ')) {
        this.indented(words);
      } else {
        this.open = null;
        this.openValues = null;
        this.declaration(words);
      }
    }
  }

  private declaration(words: string[]): void {
    const [keyword, name] = words as [string, string | undefined];
    if (name === undefined) {
      throw this.error(`${keyword} without a name`, 'write: KEYWORD NAME …');
    }
    const rest = words.slice(2);
    switch (keyword) {
      case 'schema':
        return;
      case 'ns':
        this.namespace = name;
        return;
      case 'document':
        this.model.document = name;
        return;
      case 'type':
        return this.type(name, rest);
      case 'element':
        return this.element(name, rest);
      case 'msg':
        return this.element(name, [...rest, 'subst', 'BodyElement']);
      default:
        this.declare(this.model.simple, name, this.simple(keyword, rest));
    }
  }

  private simple(keyword: string, rest: string[]): SimpleType {
    const word = (at: number): string => {
      const found = rest[at];
      if (found === undefined) {
        throw this.error(`${keyword} is cut short`, 'see the notation at the head of notation.ts');
      }
      return found;
    };
    switch (keyword) {
      case 'enum':
        this.openValues = rest;
        return { kind: 'enum', values: rest };
      case 'int':
        return {
          kind: 'integer',
          base: word(0),
          min: this.integer(word(1)),
          max: this.integer(word(2)),
        };
      case 'plain':
        return { kind: 'alias', base: bare(word(0)) };
      case 'hex':
        return { kind: 'length', base: 'hexBinary', min: 0, max: this.integer(word(0)) };
      case 'b64':
        return { kind: 'length', base: 'base64Binary', min: 0, max: this.integer(word(0)) };
      case 'str':
        return {
          kind: 'length',
          base: 'string',
          min: this.integer(word(0)),
          max: this.integer(word(1)),
        };
      default:
        throw this.error(`unknown keyword ${keyword}`, 'indent it by one space if it is a field');
    }
  }

  private type(name: string, rest: string[]): void {
    const type: ComplexType = {
      name,
      base: null,
      mixed: false,
      content: null,
      attributes: [],
      particles: [],
    };
    for (let at = 0; at < rest.length; at += 1) {
      const word = rest[at]!;
      if (word === ':' || word === '=') {
        at += 1;
        const target = rest[at];
        if (target === undefined) {
          throw this.error(`${word} names no type`, `write: type ${name} ${word} NAME`);
        }
        type[word === ':' ? 'base' : 'content'] = bare(target);
      } else if (word === 'mixed') {
        type.mixed = true;
      } else if (word !== 'abstract') {
        // An abstract type may not be used by itself; the elements that could are abstract too.
        throw this.error(`unknown mark ${word}`, 'use : BASE, = SIMPLE, abstract or mixed');
      }
    }
    this.declare(this.model.complex, name, type);
    this.open = type;
  }

  private element(name: string, rest: string[]): void {
    const element: GlobalElement = {
      name,
      namespace: this.namespace,
      type: '',
      abstract: false,
      partial: false,
      head: null,
    };
    for (let at = 0; at < rest.length; at += 1) {
      const word = rest[at]!;
      if (word === 'subst') {
        at += 1;
        element.head = bare(rest[at] ?? '');
      } else if (word === 'abstract' || word === 'partial') {
        element[word] = true;
      } else if (element.type === '') {
        element.type = bare(word);
      } else {
        throw this.error(`unknown mark ${word}`, 'use abstract, partial or subst HEAD');
      }
    }
    this.declare(this.model.elements, name, element);
    if (element.type === '') {
      // The fields that follow are those of a type of its own, which no other line can name.
      element.type = `${name} (its own type)`;
      this.type(element.type, []);
    }
  }

  private indented(words: string[]): void {
    if (this.openValues !== null) {
      this.openValues.push(...words);
    } else if (this.open !== null) {
      this.field(this.open, words);
    } else {
      throw this.error('a field outside a type', 'put it under a type, element or msg line');
    }
  }

  private field(type: ComplexType, words: string[]): void {
    const first = words[0]!;
    if (first.startsWith('@')) {
      const [, valueType, mark] = words;
      if (valueType === undefined || (mark !== undefined && mark !== '?')) {
        throw this.error('an attribute that cannot be read', 'write: @NAME TYPE [?]');
      }
      type.attributes.push({
        name: first.slice(1),
        type: bare(valueType),
        optional: mark === '?',
      });
      return;
    }
    type.particles.push(this.particle(words));
  }

  private particle(words: string[]): Particle {
    const [first] = words;
    if (first === 'repeat') {
      return { ...this.occurs(words[1]), options: this.choice(words.slice(2)) };
    }
    if (first === 'choice') {
      return { min: 1, max: 1, options: this.choice(words) };
    }
    return { ...this.occurs(words[2]), options: [this.term(words.slice(0, 2))] };
  }

  private choice(words: string[]): Term[] {
    if (words[0] !== 'choice') {
      throw this.error('repeat without choice', 'write: repeat m..n choice FIELD | FIELD');
    }
    const parts = words.slice(1).join(' ').split('|');
    return parts.map((part) => this.term(part.trim().split(' ')));
  }

  private term(words: string[]): Term {
    const [first, second] = words;
    if (first === undefined || second === undefined || words.length !== 2) {
      throw this.error('a field that cannot be read', 'write: NAME TYPE [?|m..n]');
    }
    if (first === 'ref') {
      return { kind: 'reference', name: bare(second) };
    }
    if (first === 'any') {
      return { kind: 'any' };
    }
    return { kind: 'element', name: first, namespace: this.namespace, type: bare(second) };
  }

  private occurs(mark: string | undefined): { min: number; max: number } {
    if (mark === undefined) {
      return { min: 1, max: 1 };
    }
    if (mark === '?') {
      return { min: 0, max: 1 };
    }
    const [low, high] = mark.split('..');
    const min = this.integer(low ?? '');
    const max = high === 'unbounded' ? Infinity : this.integer(high ?? '');
    if (min < 0 || max < 1 || min > max || (max !== Infinity && max > OCCURS_MAX)) {
      throw this.error(
        `occurrence ${mark} is empty or too large`,
        `at most ${OCCURS_MAX}, or unbounded`,
      );
    }
    return { min, max };
  }

  private integer(word: string): number {
    if (!/^-?\d{1,15}$/.test(word)) {
      throw this.error(`${word || 'nothing'} where an integer belongs`, 'write decimal digits');
    }
    return Number(word);
  }

  private declare<T>(map: Map<string, T>, name: string, value: T): void {
    if (map.has(name)) {
      throw this.error(`${name} is declared twice`, 'give one of them another name');
    }
    map.set(name, value);
  }

  private error(what: string, mend: string): InputError {
    return new InputError(what, { file: this.file, line: this.line }, mend);
  }
}

/** `ds:Signature` → `Signature`: names are unique over a model, the prefix is for the reader. */
function bare(name: string): string {
  return name.slice(name.indexOf(':') + 1);
}
