// Everything that is written differently in two versions of a machine, state by state and way by way, whether or not it
// is ever noticed: events, delays, states and transitions added, removed or changed, in words.
import type { FactDomains } from '../../machine/convention.ts';
import type { FileState, FileTimer, FileWay, MachineFile } from '../../machine/table-format.ts';
import { writeTable } from '../../machine/table-write.ts';
import type { MachineTable } from '../../machine/table.ts';
import { withFacts } from './words.ts';

export interface Change {
  readonly what: 'event' | 'delay' | 'state' | 'transition';
  readonly kind: 'added' | 'removed' | 'changed';
  /** The state of a transition, the name of everything else. */
  readonly where: string;
  readonly says: string;
}

export function changesBetween(before: MachineTable, after: MachineTable): Change[] {
  const [old, now] = [before, after].map(
    (table) => writeTable(table) as unknown as MachineFile,
  ) as [MachineFile, MachineFile];
  return [
    ...eventChanges(old.events, now.events),
    ...delayChanges(old.delays ?? {}, now.delays ?? {}),
    ...firstState(old, now),
    ...stateChanges(old.states, now.states),
  ];
}

type Named<T> = { readonly [name: string]: T };

/** Names of both: those only in one, and pairs of those in both. */
function* paired<T>(
  old: Named<T>,
  now: Named<T>,
): Generator<[string, T | undefined, T | undefined]> {
  for (const name of new Set([...Object.keys(old), ...Object.keys(now)])) {
    yield [name, old[name], now[name]];
  }
}

function eventChanges(old: Named<FactDomains>, now: Named<FactDomains>): Change[] {
  const found: Change[] = [];
  for (const [name, before, after] of paired(old, now)) {
    if (before === undefined || after === undefined) {
      found.push({ what: 'event', kind: kindOf(before, after), where: name, says: name });
      continue;
    }
    for (const [fact, was, is] of paired(before, after)) {
      if (same(was, is)) continue;
      const says = `${fact}: ${(was ?? []).join(', ') || 'no value'} → ${(is ?? []).join(', ') || 'no value'}`;
      found.push({ what: 'event', kind: 'changed', where: name, says });
    }
  }
  return found;
}

function delayChanges(
  old: NonNullable<MachineFile['delays']>,
  now: NonNullable<MachineFile['delays']>,
): Change[] {
  const found: Change[] = [];
  for (const [name, before, after] of paired(old, now)) {
    if (before?.ms === after?.ms) continue;
    const says = [before, after]
      .filter((one) => one !== undefined)
      .map(({ ms }) => `${ms / 1000} s`)
      .join(' → ');
    found.push({ what: 'delay', kind: kindOf(before, after), where: name, says });
  }
  return found;
}

function firstState({ initial: old }: MachineFile, { initial: now }: MachineFile): Change[] {
  if (same(old, now)) return [];
  const says = `it starts in ${now.state}${outputWords(now.outputs)}, before in ${old.state}${outputWords(old.outputs)}`;
  return [{ what: 'transition', kind: 'changed', where: 'the start', says }];
}

function stateChanges(old: Named<FileState>, now: Named<FileState>): Change[] {
  const found: Change[] = [];
  for (const [name, before, after] of paired(old, now)) {
    if (before === undefined || after === undefined) {
      const { stage, says } = (before ?? after)!;
      const doing = [stage, says].filter(Boolean).join(': ');
      found.push({ what: 'state', kind: kindOf(before, after), where: name, says: doing });
      continue;
    }
    for (const word of ['stage', 'says'] as const) {
      if (before[word] === after[word]) continue;
      const says = `${word}: ${before[word] ?? 'none'} → ${after[word] ?? 'none'}`;
      found.push({ what: 'state', kind: 'changed', where: name, says });
    }
    for (const [event, was, is] of paired(before.on ?? {}, after.on ?? {})) {
      found.push(...wayChanges(name, event, was ?? [], is ?? []));
    }
    for (const [timer, was, is] of paired(before.after ?? {}, after.after ?? {})) {
      found.push(...timerChanges(name, timer, was, is));
    }
  }
  return found;
}

/** Ways of one event: those of one guard are one way that changed, and so are those that do the same under another. */
function wayChanges(
  state: string,
  event: string,
  old: readonly FileWay[],
  now: readonly FileWay[],
): Change[] {
  const removed = old.filter((way) => !now.some((other) => same(way, other)));
  const added = now.filter((way) => !old.some((other) => same(way, other)));
  const found: Change[] = [];
  for (const was of removed) {
    const is = take(added, (way) => same(way.when, was.when));
    if (is !== undefined) {
      found.push(...moveChange(state, `on ${event}${guardWords(was)}`, was, is));
      continue;
    }
    const moved = take(added, (way) => moveWords(way) === moveWords(was));
    if (moved === undefined) {
      found.push(...moveChange(state, `on ${event}${guardWords(was)}`, was, undefined));
      continue;
    }
    const guards = [was, moved].map((way) => guardWords(way).trim() || 'whatever its facts');
    const says = `on ${event}: ${moveWords(was)}, ${guards.join(' → ')}`;
    found.push({ what: 'transition', kind: 'changed', where: state, says });
  }
  for (const is of added) {
    found.push(...moveChange(state, `on ${event}${guardWords(is)}`, undefined, is));
  }
  return found;
}

/** Removes the first that fits from the list. */
function take(ways: FileWay[], fits: (way: FileWay) => boolean): FileWay | undefined {
  const index = ways.findIndex(fits);
  return index < 0 ? undefined : ways.splice(index, 1)[0];
}

function timerChanges(
  state: string,
  timer: string,
  was: FileTimer | undefined,
  is: FileTimer | undefined,
): Change[] {
  return moveChange(state, `after ${timer}`, was, is);
}

function moveChange(
  where: string,
  on: string,
  was: FileWay | undefined,
  is: FileWay | undefined,
): Change[] {
  if (same(was, is)) return [];
  const words = [was, is].filter((one) => one !== undefined).map(moveWords);
  return [
    { what: 'transition', kind: kindOf(was, is), where, says: `${on}: ${words.join(' → ')}` },
  ];
}

function guardWords({ when }: FileWay): string {
  if (when === undefined) return '';
  return withFacts(
    Object.fromEntries(Object.entries(when).map(([fact, values]) => [fact, values.join(' or ')])),
  );
}

function moveWords({ to, outputs, keeps }: FileWay): string {
  const kept = keeps === undefined ? '' : `, keeps ${keeps.join(', ')}`;
  return `${to === undefined ? 'stays' : `goes to ${to}`}${outputWords(outputs)}${kept}`;
}

function outputWords(outputs: FileWay['outputs']): string {
  return (outputs ?? [])
    .map((output) =>
      'send' in output
        ? `, sends ${output.send}${withFacts(output.facts ?? {})}`
        : `, drives ${output.drive} ${output.to}`,
    )
    .join('');
}

function kindOf(before: unknown, after: unknown): Change['kind'] {
  return before === undefined ? 'added' : after === undefined ? 'removed' : 'changed';
}

/** Both come from `writeTable`, which writes equal things in equal order. */
function same(one: unknown, other: unknown): boolean {
  return JSON.stringify(one) === JSON.stringify(other);
}
