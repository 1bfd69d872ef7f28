// A capture is foreign input: what its strings would do to a terminal must not happen.

/**
 * Control characters (C0, DEL, C1), invisible and direction-changing characters, and half surrogates:
 * everything that moves a cursor, starts an escape sequence or shows text other than it is.
 */
const UNSAFE =
  // oxlint-disable-next-line no-control-regex
  /[\u0000-\u001f\u007f-\u009f\u00ad\u061c\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff\ufff9-\ufffb]|\p{Cs}/gu;

/** The text with everything unsafe spelt as `\u001b`; other text is returned as it is. */
export function plain(text: string): string {
  return text.replace(UNSAFE, spell);
}

/** A deep copy of plain data in which every string is safe to print. */
export function plainDeep<T>(value: T): T {
  return map(value) as T;
}

/** JSON text with unsafe characters escaped; it parses to the same value. */
export function plainJson(json: string): string {
  return json.replace(UNSAFE, (match) => (match === '\n' ? match : spell(match)));
}

function spell(match: string): string {
  return `\\u${match.charCodeAt(0).toString(16).padStart(4, '0')}`;
}

function map(value: unknown): unknown {
  if (typeof value === 'string') return plain(value);
  if (Array.isArray(value)) return value.map(map);
  if (typeof value !== 'object' || value === null) return value;
  return Object.fromEntries(Object.entries(value).map(([key, inner]) => [key, map(inner)]));
}
