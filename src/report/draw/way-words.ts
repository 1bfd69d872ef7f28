// Transitions in words, in the notation of UML statecharts: `event [what its guard asks] / outputs`.
import { count, list } from '../figures.ts';
import type { OutlineWay } from './outline.ts';

type Wording = Pick<OutlineWay, 'kind' | 'event' | 'ms' | 'when' | 'outputs'>;

/** `choose.next [locked yes] / pilot C; CableCheckReq` */
function wayWords(way: Wording): string {
  const { when, outputs } = way;
  const asks = when === '' ? '' : ` [${when}]`;
  return `${eventWords(way)}${asks}${outputs.length === 0 ? '' : ` / ${outputs.join('; ')}`}`;
}

/** `after 0.25 s: V2G_EVCC_Msg_Timeout_PreCharge` */
function eventWords({ kind, event, ms }: Wording): string {
  if (kind !== 'timer') return event;
  return ms === null ? `after ${event}` : `after ${ms / 1000} s: ${event}`;
}

/** Each distinct wording once; events that differ in their name alone stand together, `A, B and C / outputs`. */
export function wordings(ways: readonly OutlineWay[]): string[] {
  const groups = new Map<string, OutlineWay[]>();
  for (const way of ways) {
    const { kind, when, outputs, event } = way;
    const alike = kind === 'timer' ? event : '';
    const key = `${kind}\n${alike}\n${when}\n${outputs.join('\n')}`;
    groups.set(key, [...(groups.get(key) ?? []), way]);
  }
  return [...groups.values()].map((group) => {
    const [first] = group as [OutlineWay];
    const names = [...new Set(group.map(({ event }) => event))];
    return wayWords(first.kind === 'timer' ? first : { ...first, event: list(names) });
  });
}

/** What there is of each kind, where there is no room for words: `13 messages, 2 choices, timers of 0.25 s and 2 s`. */
export function kindWords(ways: readonly OutlineWay[]): string {
  const names = (kind: OutlineWay['kind']): string[] => [
    ...new Set(ways.filter((way) => way.kind === kind).map(({ event }) => event)),
  ];
  const parts = (['choice', 'message', 'signal', 'link'] as const).flatMap((kind) => {
    const own = names(kind);
    if (own.length === 0) return [];
    return own.length === 1 ? own : [count(own.length, kind === 'link' ? 'link event' : kind)];
  });
  const lengths = [...new Set(ways.flatMap(({ kind, ms }) => (kind === 'timer' ? [ms] : [])))];
  const known = lengths.filter((ms) => ms !== null).toSorted((a, b) => a - b);
  if (known.length === 1) parts.push(`a timer of ${known[0]! / 1000} s`);
  else if (known.length > 1) {
    const ends = `${known[0]! / 1000} to ${known.at(-1)! / 1000} s`;
    parts.push(`timers of ${ends}`);
  } else if (lengths.length > 0) parts.push('a timer');
  return parts.join(', ');
}
