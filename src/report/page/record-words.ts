// What other recorders saw, in a few words.
import type { Json, JsonObject } from '../../trace/observation.ts';
import { plain } from '../plain.ts';

export const word = (value: Json): string =>
  typeof value === 'string' ? plain(value) : JSON.stringify(value);

/** Fields whose value says it alone. */
const ALONE = new Set(['state', 'place', 'side', 'alarm']);

const UNITS: Readonly<Record<string, string>> = {
  V: 'V',
  A: 'A',
  C: '°C',
  ohm: 'Ω',
  percent: '%',
};

export function recordWords(body: JsonObject): string {
  const { says } = body;
  if (typeof says === 'string') return plain(says);
  return Object.entries(body)
    .map(([key, value]) => fieldWords(plain(key), word(value)))
    .join(' · ');
}

function fieldWords(key: string, value: string): string {
  if (ALONE.has(key)) return value;
  const [name, unit = ''] = key.split('_');
  return Object.hasOwn(UNITS, unit) ? `${name} ${value} ${UNITS[unit]}` : `${key} ${value}`;
}
