// Every event a side of System C may be given, with the finite domain of each fact.
import type { FactDomains } from '../../src/machine/convention.ts';
import { FACT_VALUES, factsOf, type FactName } from '../../src/protocols/system-c/event.ts';
import { messagesOf, type SystemC } from './protocol.ts';

export type Alphabet = { readonly [event: string]: FactDomains };

function received(names: readonly string[]): Record<string, FactDomains> {
  const alphabet: Record<string, FactDomains> = {};
  for (const name of names) {
    const domains: Record<string, readonly string[]> = {};
    for (const fact of factsOf(name)) domains[fact] = [...valuesOf(fact, name), 'unknown'];
    alphabet[name] = domains;
  }
  return alphabet;
}

/** Only SessionSetupReq asks for a new or an old session; all other messages belong to this one or to another. */
function valuesOf(fact: FactName, message: string): readonly string[] {
  if (fact !== 'session') return FACT_VALUES[fact];
  return message === 'SessionSetupReq' ? ['new', 'old'] : ['this', 'foreign'];
}

const nothing: FactDomains = {};
const demands: FactDomains = { demand: FACT_VALUES.demand, cells: ['within', 'full'] };
const current = { current: ['none', 'low', 'flowing'] };

/** What a vehicle may receive, choose and sense. */
export function vehicleAlphabet(protocol: SystemC): Alphabet {
  return {
    ...received(messagesOf(protocol).map((name) => `${name}Res`)),
    'link.closed': nothing,
    'choose.next': { locked: ['yes', 'no'], inlet: ['safe', 'live'], ...demands },
    'choose.details': nothing,
    'choose.contract': nothing,
    'choose.install certificate': nothing,
    'choose.update certificate': nothing,
    'choose.power': { gate: ['inside', 'outside'] },
    'choose.stop': nothing,
    'choose.renegotiate': nothing,
    'choose.receipt': nothing,
    'choose.cable check again': nothing,
    'choose.pre-charge again': nothing,
    'choose.weld check': nothing,
    'choose.end': nothing,
    'choose.pause': nothing,
    'choose.not ready': demands,
    'choose.complete': demands,
    'choose.open': current,
    'choose.unlock': { inlet: ['safe', 'live'] },
    'sense.fault': demands,
    'signal.crash': nothing,
    'signal.weld': nothing,
  };
}

/** What a charger may receive, choose and sense. */
export function chargerAlphabet(protocol: SystemC): Alphabet {
  return {
    ...received(messagesOf(protocol).map((name) => `${name}Req`)),
    'link.closed': nothing,
    'choose.answer': {
      pilot: ['B', 'C'],
      isolation: FACT_VALUES.isolation,
      status: FACT_VALUES.status,
      notification: FACT_VALUES.notification,
    },
    'choose.ongoing': {
      isolation: FACT_VALUES.isolation,
      status: FACT_VALUES.status,
      notification: FACT_VALUES.notification,
    },
    'choose.wait for customer': nothing,
    'choose.finish test': { isolation: FACT_VALUES.isolation, status: FACT_VALUES.status },
    'choose.fail': nothing,
    'choose.refuse': { code: ['failed', 'sequence error', 'unknown session'] },
    'signal.emergency': nothing,
    'sense.pilot': { pilot: ['A', 'B', 'C', 'D', 'E', 'F'] },
  };
}
