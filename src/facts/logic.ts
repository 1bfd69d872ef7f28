// Three-valued logic (Kleene): null is "not known". A rule is broken only where the answer is a plain false.

export type Truth = boolean | null;

export const and = (...parts: Truth[]): Truth =>
  parts.includes(false) ? false : parts.includes(null) ? null : true;
