// What the guards of a state ask of one event, in words. Guards are functions: they are tried with every value of the
// facts they read, in the order in which XState tries them.
import type { AnyTransitionDefinition } from 'xstate';
import { branches } from '../../machine/branches.ts';
import type { FactDomains, MachineEvent, SideMachine } from '../../machine/convention.ts';

type Guard = (scope: { context: unknown; event: MachineEvent }) => boolean;

/** For each transition what selects it before those after it: `code ok, processing finished`. */
export function guardWords(
  type: string,
  transitions: readonly AnyTransitionDefinition[],
  { alphabet, machine }: SideMachine,
): string[] {
  if (transitions.every(({ guard }) => guard === undefined)) return transitions.map(() => '');
  if (!transitions.every(({ guard }) => isPlainGuard(guard))) return transitions.map(named);
  const remembered = new Set<string>();
  const context = watched(machine.config.context, remembered);
  const domains = alphabet[type] ?? {};
  const select = (event: MachineEvent): number =>
    transitions.findIndex(
      ({ guard }) => guard === undefined || (guard as Guard)({ context, event }),
    );
  const tried = branches({ type }, domains, select);
  // What the context decides cannot be tried out here: it is only named.
  if (remembered.size > 0) return transitions.map(() => `by ${[...remembered].join(', ')}`);
  return transitions.map((_, index) =>
    boxWords(
      tried.filter(({ result }) => result === index).map(({ event }) => event),
      domains,
    ),
  );
}

/** XState's `and`, `or`, `not` and `stateIn` are functions too, which must not be called. */
function isPlainGuard(guard: unknown): boolean {
  return guard === undefined || (typeof guard === 'function' && !('check' in guard));
}

function named({ guard }: AnyTransitionDefinition): string {
  if (guard === undefined) return '';
  const type: unknown = typeof guard === 'string' ? guard : (guard as { type?: unknown }).type;
  return typeof type === 'string' ? type : 'guarded';
}

/** The context, with a note of what is read of it. */
function watched(context: unknown, read: Set<string>): unknown {
  const plain = context !== null && typeof context === 'object' ? context : {};
  return new Proxy(plain, {
    get(target, key) {
      read.add(String(key));
      return Reflect.get(target, key);
    },
  });
}

/** Facts with their values where those alone decide; of a more tangled guard also the facts it goes by. */
function boxWords(events: readonly MachineEvent[], domains: FactDomains): string {
  if (events.length === 0) return 'never';
  const facts = Object.keys(domains).filter((fact) =>
    events.some((event) => event[fact] !== undefined),
  );
  const bounds: string[] = [];
  let volume = 1;
  for (const fact of facts) {
    const domain = domains[fact]!;
    const values = events.some((event) => event[fact] === undefined)
      ? new Set(domain)
      : new Set(events.map((event) => event[fact]!));
    volume *= values.size;
    if (values.size < domain.length) bounds.push(factWords(fact, values, domain));
  }
  const size = (event: MachineEvent): number =>
    facts.reduce(
      (product, fact) => product * (event[fact] === undefined ? domains[fact]!.length : 1),
      1,
    );
  const covered = events.reduce((sum, event) => sum + size(event), 0);
  if (covered < volume) bounds.push(`by ${facts.join(', ')}`);
  return bounds.join(', ');
}

function factWords(fact: string, values: ReadonlySet<string>, domain: readonly string[]): string {
  const others = domain.filter((value) => !values.has(value));
  if (others.length < values.size) return `${fact} not ${others.join(' or ')}`;
  return `${fact} ${[...values].join(' or ')}`;
}
