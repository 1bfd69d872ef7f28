/**
 * A text that is equal for two plain values exactly when they are equal: JSON with sorted keys. Throws on what is not
 * plain data (functions, maps, bigints, numbers JSON cannot tell apart), because two different states must never share
 * a key.
 */
export function canonical(value: unknown): string {
  if (value === null || typeof value === 'boolean' || typeof value === 'string') {
    return JSON.stringify(value);
  }
  if (typeof value === 'number' && Number.isFinite(value))
    return Object.is(value, -0) ? '-0' : `${value}`;
  if (Array.isArray(value)) return `[${value.map(canonical).join(',')}]`;
  if (!isPlain(value)) throw new TypeError(`not plain data: ${String(value)}`);
  const entries = Object.keys(value)
    .sort()
    .map((key) => `${JSON.stringify(key)}:${canonical(value[key])}`);
  return `{${entries.join(',')}}`;
}

/** An object literal, or one without a prototype. */
export function isPlain(value: unknown): value is Record<string, unknown> {
  if (value === null || typeof value !== 'object') return false;
  const prototype: unknown = Object.getPrototypeOf(value);
  return prototype === null || prototype === Object.prototype;
}
