// A divergence in words: what the side could have been doing, what it could have sent instead, and what excluded the
// message it did send.
import type { MachineEvent, Send } from '../machine/convention.ts';
import type { StateView } from '../machine/step.ts';
import { tolerance_ns, type Overrun } from './follow-set.ts';
import type { Offer } from './follow-paths.ts';

/** `energy transfer: waits for CurrentDemandRes` */
export function stateWords({ stage, says }: StateView): string {
  return stage === '' ? says : `${stage}: ${says}`;
}

/** Each message on offer once, with its facts and the choice and own readings it takes. */
export function offerWords(offers: readonly Offer[]): string[] {
  const groups = new Map<string, Offer[]>();
  for (const offer of offers) {
    const key = `${offer.send.message} ${offer.by.type} ${offer.send.progress ?? ''}`;
    groups.set(key, [...(groups.get(key) ?? []), offer]);
  }
  const words = [...groups.values()].map((group) => {
    const { message } = group[0]!.send;
    const facts = agreed(
      group.map(({ send }) => send),
      ['message', 'session'],
    );
    const needs = agreed(
      group.map(({ by }) => by),
      ['type', ...Object.keys(group[0]!.send)],
    );
    const given = facts.length > 0 ? ` with ${facts.join(', ')}` : '';
    const when = needs.length > 0 ? `, when ${needs.join(', ')}` : '';
    return `${message}${given}${when} (${group[0]!.by.type})`;
  });
  return [...new Set(words)];
}

/** Facts that have one value in all of them. */
function agreed(all: readonly MachineEvent[] | readonly Send[], but: readonly string[]): string[] {
  const [first, ...others] = all;
  return Object.entries(first!)
    .filter(([fact]) => !but.includes(fact))
    .filter(([fact, value]) => others.every((other) => other[fact] === value))
    .map(([fact, value]) => `${fact} ${value}`);
}

/**
 * The facts by which a message misses the nearest one of its name on offer: the one with the fewest facts missed, and
 * of those the one with the most facts met. Null when no message of its name is on offer.
 */
export function missedFacts(event: MachineEvent, offers: readonly Offer[]): string | null {
  let nearest = Infinity;
  let allowed = new Map<string, Set<string>>();
  for (const { send } of offers) {
    if (send.message !== event.type) continue;
    const told = Object.keys(send).filter(
      (fact) => fact !== 'message' && event[fact] !== undefined && event[fact] !== 'unknown',
    );
    const missed = told.filter((fact) => event[fact] !== send[fact]);
    // Missing one fact more weighs more than any number met.
    const distance = missed.length * 100 - (told.length - missed.length);
    if (distance > nearest) continue;
    if (distance < nearest) allowed = new Map();
    nearest = distance;
    for (const fact of missed) {
      allowed.set(fact, (allowed.get(fact) ?? new Set<string>()).add(send[fact]!));
    }
  }
  if (allowed.size === 0) return null;
  return [...allowed]
    .map(
      ([fact, values]) => `${fact} is ${event[fact]} where ${[...values].join(' or ')} is allowed`,
    )
    .join('; ');
}

/** What the other side said last, as the reason a guard stands: `after CurrentDemandRes with status emergency`. */
export function afterWords(heard: MachineEvent | null): string {
  if (heard === null) return 'at the start';
  const facts = Object.entries(heard)
    .filter(([fact, value]) => fact !== 'type' && value !== 'unknown' && value !== usual[fact])
    .map(([fact, value]) => `${fact} ${value}`);
  return `after ${heard.type}${facts.length > 0 ? ` with ${facts.join(', ')}` : ''}`;
}

/** Facts in their everyday value, which explain nothing. */
const usual: Readonly<Record<string, string>> = {
  session: 'this',
  code: 'ok',
  status: 'ready',
  isolation: 'valid',
  notification: 'none',
  receipt: 'no',
  ready: 'yes',
  error: 'none',
  complete: 'no',
  demand: 'some',
};

/** `V2G_EVCC_Msg_Timeout_CurrentDemand of 0.25 s had run out 1.15 s before (tolerance 0.053 s)` */
export function timerWords({ timer, due_ns }: Overrun, at_ns: number): string {
  const over = `had run out ${seconds(at_ns - due_ns)} s before`;
  return `${timer.name} of ${timer.ms / 1000} s ${over} (tolerance ${seconds(tolerance_ns(timer.ms))} s)`;
}

function seconds(ns: number): string {
  return String(Number((ns / 1e9).toFixed(3)));
}
