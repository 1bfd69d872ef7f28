// What a message model is once read from its notation (notation.ts): names, order, occurrence,
// value sets.

/** A simple type, after XML Schema: an enumeration, or a built-in type with bounds. */
export type SimpleType =
  | { kind: 'enum'; values: string[] }
  | { kind: 'integer'; base: string; min: number; max: number }
  | { kind: 'alias'; base: string }
  | { kind: 'length'; base: string; min: number; max: number };

/** One thing a position of the content may hold. */
export type Term =
  | { kind: 'element'; name: string; namespace: string; type: string }
  | { kind: 'reference'; name: string }
  | { kind: 'any' };

/** One position of the content: any of `options`, `min` to `max` times in a row. */
export interface Particle {
  options: Term[];
  min: number;
  /** Infinity for unbounded. */
  max: number;
}

export interface Attribute {
  name: string;
  type: string;
  optional: boolean;
}

export interface ComplexType {
  name: string;
  base: string | null;
  mixed: boolean;
  /** The simple type of the content, for types without child elements. */
  content: string | null;
  attributes: Attribute[];
  particles: Particle[];
}

export interface GlobalElement {
  name: string;
  namespace: string;
  type: string;
  /** Has a code on the wire, yet may not be used: only members of its group may. */
  abstract: boolean;
  /** Only the name is known: it has a code, its content cannot be read. */
  partial: boolean;
  /** Head of the substitution group it belongs to. */
  head: string | null;
}

export interface Model {
  /** The element whose content is the message; null when a message is `{NAME: content}`. */
  document: string | null;
  simple: Map<string, SimpleType>;
  complex: Map<string, ComplexType>;
  elements: Map<string, GlobalElement>;
}
