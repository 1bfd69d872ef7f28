// Answers what a message model says about a name: elements with their substitution groups, types
// with all that they inherit.
import { InputError } from '../../trace/input-error.ts';
import type { Attribute, ComplexType, GlobalElement, Model, Term } from './model.ts';

/** What a position of the content may hold, references replaced by all that may stand for them. */
export type Option = Omit<GlobalElement, 'head'> | null;

/** A particle; null among its options is the wildcard. */
interface Slot {
  options: Option[];
  /** Order of the first option among all keys of the type. */
  order: number;
  min: number;
  max: number;
}

/** The content of a type, all its bases included. */
export interface FlatType {
  mixed: boolean;
  /** The simple type of the content; null where elements are. */
  simple: string | null;
  attributes: Attribute[];
  slots: Slot[];
}

export class ModelIndex {
  private readonly model: Model;
  private readonly members = new Map<string, GlobalElement[]>();

  constructor(model: Model) {
    this.model = model;
    for (const element of model.elements.values()) {
      if (element.head !== null) {
        this.global(element.head);
        const group = this.members.get(element.head) ?? [];
        group.push(element);
        this.members.set(element.head, group);
      }
    }
  }

  /** A type with the attributes and particles of its bases, bases first. */
  flatten(typeName: string): FlatType {
    const chain = [this.complex(typeName)];
    for (let { base } = chain[0]!; base !== null; base = chain[0]!.base) {
      const next = this.complex(base);
      if (chain.includes(next)) {
        throw new InputError(`type ${base} is its own base`, {}, 'mend the model');
      }
      chain.unshift(next);
    }
    // Attributes come in the order of their names (8.5.4.1.3.2), not of the schema.
    const attributes = chain.flatMap((part) => part.attributes).sort(byName);
    let order = attributes.length;
    const slots = chain
      .flatMap((part) => part.particles)
      .map(({ options: terms, min, max }) => {
        const options = terms.flatMap((term) => this.options(term));
        order += options.length;
        return { options, order: order - options.length, min, max };
      });
    const mixed = chain.some((part) => part.mixed);
    const simple = chain.findLast((part) => part.content !== null)?.content ?? null;
    return { mixed, simple, attributes, slots };
  }

  private options(term: Term): Option[] {
    switch (term.kind) {
      case 'any':
        return [null];
      case 'reference':
        return this.group(this.global(term.name)).sort(byName);
      default:
        return [{ ...term, abstract: false, partial: false }];
    }
  }

  /** An element and all that may stand in its place. */
  private group(element: GlobalElement): GlobalElement[] {
    const members = this.members.get(element.name) ?? [];
    return [element, ...members.flatMap((member) => this.group(member))];
  }

  global(name: string): GlobalElement {
    const element = this.model.elements.get(name);
    if (element === undefined) {
      throw unknown('element', name);
    }
    return element;
  }

  private complex(name: string): ComplexType {
    const type = this.model.complex.get(name);
    if (type === undefined) {
      throw unknown('type', name);
    }
    return type;
  }
}

export function byName(a: { name: string }, b: { name: string }): number {
  return a.name < b.name ? -1 : Number(a.name > b.name);
}

export function unknown(what: string, name: string): InputError {
  return new InputError(
    `the model names ${what} ${name}, which it does not declare`,
    {},
    'declare it',
  );
}
