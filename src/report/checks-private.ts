// Checks in which vehicles and sessions have other names.
import type { Checked } from './checks.ts';
import { Pseudonyms } from './pseudonyms.ts';

/** How the rules speak of a session: `session 23268603DBEBE8E0`, `SessionID …`. */
const SESSION = /\b(?:session|SessionID) ([0-9A-F]{2,16})\b/g;

export function withoutIdentities(checked: Checked): Checked {
  const names = new Pseudonyms(false);
  for (const [, id] of JSON.stringify(checked).matchAll(SESSION)) names.name('session', id!);
  return names.deep(checked);
}
