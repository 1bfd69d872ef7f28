// Messages as columns. Those of one shape (the same fields in the same order) share a tree of keys; what is left of
// each are its leaf values. A long session has dozens of shapes and millions of values.
import type { Json } from '../../trace/observation.ts';

/** Null is a leaf: a value that is no object and no list, or an empty one. */
export type Tree = null | { list: boolean; keys: string[]; inner: Tree[] };

/** Below this depth a value is kept as one leaf. */
const DEEPEST = 16;

export function treeOf(value: Json, depth = 0): Tree {
  if (value === null || typeof value !== 'object' || depth > DEEPEST) return null;
  const keys = Object.keys(value);
  if (keys.length === 0) return null;
  return {
    list: Array.isArray(value),
    keys,
    inner: keys.map((key) => treeOf((value as { [key: string]: Json })[key]!, depth + 1)),
  };
}

/** The leaves of a value of this shape, in order, appended to `leaves`; false when it has another shape. */
export function readLeaves(tree: Tree, value: Json, leaves: Json[], depth = 0): boolean {
  const branches = typeof value === 'object' && value !== null && depth <= DEEPEST;
  if (tree === null) {
    if (branches && Object.keys(value).length > 0) return false;
    leaves.push(value);
    return true;
  }
  if (!branches || Array.isArray(value) !== tree.list) return false;
  const { keys, inner } = tree;
  const own = Object.keys(value);
  if (own.length !== keys.length) return false;
  for (let index = 0; index < keys.length; index += 1) {
    const key = keys[index]!;
    if (own[index] !== key) return false;
    const field = (value as { [key: string]: Json })[key]!;
    if (!readLeaves(inner[index]!, field, leaves, depth + 1)) return false;
  }
  return true;
}

/** The value whose leaves `next` gives, one after another. */
export function rebuild(tree: Tree, next: () => Json): Json {
  if (tree === null) return next();
  if (tree.list) return tree.inner.map((inner) => rebuild(inner, next));
  // Through entries: a field named __proto__ is a field like any other.
  return Object.fromEntries(
    tree.keys.map((key, index) => [key, rebuild(tree.inner[index]!, next)]),
  );
}

/** The way to each leaf, in order: `DC_EVStatus.EVRESSSOC`, `AppProtocol.0.Priority`. */
export function leafPaths(tree: Tree, above: string[] = []): string[][] {
  if (tree === null) return [above];
  return tree.inner.flatMap((inner, index) => leafPaths(inner, [...above, tree.keys[index]!]));
}
