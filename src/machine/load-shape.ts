// Whether a value from outside is a side machine at all: its parts, before anything is asked of them.
import { isPlain } from './canonical.ts';
import type { Problem } from './check.ts';

const PROTOCOLS: readonly unknown[] = ['din70121', 'iso15118-2'];

const MAKE = 'make it with createSideMachine({ id, side, protocol, delays, alphabet, chart })';

/** The first thing that keeps it from being one; null when nothing does. */
export function checkShape(value: unknown): Problem | null {
  if (isStateMachine(value)) {
    return {
      what: 'exports an XState machine alone',
      mend: 'export { side, protocol, machine, alphabet, delays }: the events it may be given, and how long its delays are',
    };
  }
  if (value === null || typeof value !== 'object') {
    return { what: `exports ${describe(value)} where a machine should be`, mend: MAKE };
  }
  const { side, protocol, machine, alphabet, delays } = value as Record<string, unknown>;
  if (side !== 'vehicle' && side !== 'charger') {
    return { what: `side is ${describe(side)}`, mend: 'it must be "vehicle" or "charger"' };
  }
  if (!PROTOCOLS.includes(protocol)) {
    return {
      what: `protocol is ${describe(protocol)}`,
      mend: `use one of ${PROTOCOLS.join(', ')}`,
    };
  }
  if (!isStateMachine(machine)) {
    return { what: `machine is ${describe(machine)}`, mend: 'it must be an XState v5 machine' };
  }
  return checkAlphabet(alphabet) ?? checkDelays(delays);
}

/** Not `instanceof`: a bundled file brings its own copy of XState. */
function isStateMachine(value: unknown): boolean {
  if (value === null || typeof value !== 'object') return false;
  const { root, config, transition } = value as Record<string, unknown>;
  return typeof transition === 'function' && typeof config === 'object' && typeof root === 'object';
}

function checkAlphabet(alphabet: unknown): Problem | null {
  if (!isPlain(alphabet)) {
    const mend =
      'list each event with the values of its facts: { CableCheckRes: { code: ["ok", "failed"] } }';
    return { what: `alphabet is ${describe(alphabet)}`, mend };
  }
  for (const [event, facts] of Object.entries(alphabet)) {
    if (!isPlain(facts)) {
      return {
        what: `alphabet.${event} is ${describe(facts)}`,
        mend: 'give { fact: [values] }, or {}',
      };
    }
    for (const [fact, values] of Object.entries(facts)) {
      const words = Array.isArray(values) && values.every((word) => typeof word === 'string');
      if (words && fact !== 'type') continue;
      return {
        what: `alphabet.${event}.${fact} is ${fact === 'type' ? 'a reserved name' : describe(values)}`,
        mend: fact === 'type' ? 'name the fact otherwise' : 'give a list of words',
      };
    }
  }
  return null;
}

function checkDelays(delays: unknown): Problem | null {
  if (!isPlain(delays)) {
    return {
      what: `delays is ${describe(delays)}`,
      mend: 'give { name: { ms, confidence, source } }, or {}',
    };
  }
  for (const [name, delay] of Object.entries(delays)) {
    const ms = isPlain(delay) ? delay.ms : undefined;
    if (typeof ms === 'number' && Number.isFinite(ms) && ms > 0) continue;
    return {
      what: `delays.${name}.ms is ${describe(ms)}`,
      mend: 'give its length in milliseconds',
    };
  }
  return null;
}

function describe(value: unknown): string {
  if (value === undefined) return 'missing';
  if (typeof value === 'function') return 'a function';
  if (value !== null && typeof value === 'object')
    return Array.isArray(value) ? 'a list' : 'an object';
  return JSON.stringify(String(value).slice(0, 60));
}
