// Three-valued logic (Kleene): null is "not known". A rule is broken only where the answer is a plain false.

export type Truth = boolean | null;

export const and = (...parts: Truth[]): Truth =>
  parts.includes(false) ? false : parts.includes(null) ? null : true;

export const or = (...parts: Truth[]): Truth =>
  parts.includes(true) ? true : parts.includes(null) ? null : false;

export const not = (part: Truth): Truth => (part === null ? null : !part);

/** Is `value` one of `wanted`? Not known when it is `unknown`. */
export function among<T extends string>(value: T | 'unknown', ...wanted: T[]): Truth {
  return value === 'unknown' ? null : wanted.includes(value as T);
}
