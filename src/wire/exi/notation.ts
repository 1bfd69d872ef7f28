// Reads the notation of the message models: one declaration a line, fields indented below it.
//
//   schema NAME URN-BASE    the standard and its namespaces (for the reader: no code depends on it)
//   ns NAMESPACE            what follows belongs to it
//   document ELEMENT        a message is this element's content; else it is {NAME: content}
//   enum NAME v0 v1 …       strings, their order is the EXI code; indented lines go on
//   int NAME BASE MIN MAX   integer with bounds
//   plain NAME BASE         alias
//   hex NAME n              binary of at most n octets; so is b64 NAME n
//   str NAME min max        string, length in characters
//   type NAME [: BASE] [abstract] [mixed]
//   type NAME = SIMPLE      simple content with attributes
//   element NAME [TYPE] [abstract] [partial] [subst HEAD]    without TYPE the fields follow
//   msg NAME [partial]      an element whose fields follow, in the group of BodyElement
//
// Fields: `NAME TYPE [?|m..n]`, `@ATTRIBUTE TYPE [?]`, `ref ELEMENT [?|m..n]`,
// `any ##other [?|m..n]`, `choice FIELD | FIELD …`, `repeat m..n choice FIELD | FIELD …`; a line
// that begins with | goes on with the choice above it. `ns:NAME` names what ns declared; names are
// unique over one model. `partial` says that only the name is known.
import { InputError } from '../../trace/input-error.ts';
import type { ComplexType, GlobalElement, Model, SimpleType } from './model.ts';
import { attributeOf, bare, integerOf, nameOf, particleOf } from './notation-fields.ts';

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

  private readonly fail = (what: string, mend: string): InputError =>
    new InputError(what, { file: this.file, line: this.line }, mend);

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
      throw this.fail(`${keyword} without a name`, 'write: KEYWORD NAME …');
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
        throw this.fail(`${keyword} is cut short`, 'see the notation at the head of notation.ts');
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
          min: integerOf(this.fail, word(1)),
          max: integerOf(this.fail, word(2)),
        };
      case 'plain':
        return { kind: 'alias', base: bare(word(0)) };
      case 'hex':
        return { kind: 'length', base: 'hexBinary', min: 0, max: integerOf(this.fail, word(0)) };
      case 'b64':
        return { kind: 'length', base: 'base64Binary', min: 0, max: integerOf(this.fail, word(0)) };
      case 'str':
        return {
          kind: 'length',
          base: 'string',
          min: integerOf(this.fail, word(0)),
          max: integerOf(this.fail, word(1)),
        };
      default:
        throw this.fail(`unknown keyword ${keyword}`, 'indent it by one space if it is a field');
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
          throw this.fail(`${word} names no type`, `write: type ${name} ${word} NAME`);
        }
        type[word === ':' ? 'base' : 'content'] = bare(target);
      } else if (word === 'mixed') {
        type.mixed = true;
      } else if (word !== 'abstract') {
        // An abstract type may not be used by itself; the elements that could are abstract too.
        throw this.fail(`unknown mark ${word}`, 'use : BASE, = SIMPLE, abstract or mixed');
      }
    }
    this.declare(this.model.complex, name, type);
    this.open = type;
  }

  private element(name: string, rest: string[]): void {
    const element: GlobalElement = {
      name: nameOf(this.fail, name),
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
        throw this.fail(`unknown mark ${word}`, 'use abstract, partial or subst HEAD');
      }
    }
    this.declare(this.model.elements, name, element);
    if (element.type === '') {
      // The fields that follow are those of a type of its own.
      element.type = `${name}.type`;
      this.type(element.type, []);
    }
  }

  private indented(words: string[]): void {
    if (this.openValues !== null) {
      this.openValues.push(...words);
    } else if (this.open !== null) {
      if (words[0]!.startsWith('@')) {
        this.open.attributes.push(attributeOf(this.fail, words));
      } else {
        this.open.particles.push(particleOf(this.fail, words, this.namespace));
      }
    } else {
      throw this.fail('a field outside a type', 'put it under a type, element or msg line');
    }
  }

  private declare<T>(map: Map<string, T>, name: string, value: T): void {
    if (map.has(name)) {
      throw this.fail(`${name} is declared twice`, 'give one of them another name');
    }
    map.set(nameOf(this.fail, name), value);
  }
}
