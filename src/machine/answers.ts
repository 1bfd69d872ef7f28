// Every way a state can answer one type of event, over all values of the event's facts, with as few calls of XState as
// will do: guards alone are cheap to try, so XState is asked once for each transition they select, and again only where
// an action reads a fact too. (`branches` would ask it once for each way the facts can steer guards and actions.)
import type { AnyMachineSnapshot, AnyStateNode } from 'xstate';
import { InputError } from '../trace/input-error.ts';
import type { FactDomains, MachineEvent, SideMachine } from './convention.ts';

export interface Answer<T> {
  /** The facts that were read, with their values; any other fact makes no difference. */
  readonly readings: ReadonlyMap<string, string>;
  readonly result: T;
}

/** Above this one state tells apart too much of one event for a table. */
const MAXIMUM_ANSWERS = 50_000;

/** One probe for each type of event, made once. */
export class Probes {
  private readonly alphabet: SideMachine['alphabet'];
  private readonly known = new Map<string, Probe>();

  constructor(alphabet: SideMachine['alphabet']) {
    this.alphabet = alphabet;
  }

  of(type: string): Probe {
    let probe = this.known.get(type);
    if (probe === undefined) {
      this.known.set(type, (probe = new Probe(type, this.alphabet[type] ?? {})));
    }
    return probe;
  }
}

/** An event whose facts are getters: what is read first is tried with each of its values, one run after another. */
class Probe {
  private readonly event: MachineEvent;
  private readings = new Map<string, string>();
  private open: Map<string, string>[] = [];
  private reads = 0;

  constructor(type: string, domains: FactDomains) {
    const event = { type };
    for (const [fact, values] of Object.entries(domains)) {
      const get = (): string => this.read(fact, values);
      Object.defineProperty(event, fact, { enumerable: true, get });
    }
    this.event = event;
  }

  /** The answers of one state whose active nodes are `nodes`, from the root down. `run` must be pure. */
  answers<T>(
    snapshot: AnyMachineSnapshot,
    nodes: readonly AnyStateNode[],
    run: (event: MachineEvent) => T,
    unmoved: T,
  ): Answer<T>[] {
    const candidates = candidatesOf(nodes, this.event.type);
    if (candidates === null) return this.explore(NO_READINGS, run).map(({ answer }) => answer);
    const { context } = snapshot as { context: unknown };
    const select = (event: MachineEvent): Candidate | undefined =>
      candidates.find(({ guard }) => guard === undefined || guard({ context, event }));
    const found: Answer<T>[] = [];
    const alike = new Map<Candidate, T>();
    for (const { answer, reads } of this.explore(NO_READINGS, select)) {
      const { readings, result: selected } = answer;
      if (selected === undefined) found.push({ readings, result: unmoved });
      else if (alike.has(selected)) found.push({ readings, result: alike.get(selected)! });
      else {
        const ways = this.explore(readings, run);
        for (const way of ways) found.push(way.answer);
        // Not one reading more than the guards alone need: what the transition does asks for no fact.
        if (ways.length === 1 && ways[0]!.reads === reads) {
          alike.set(selected, ways[0]!.answer.result);
        }
      }
      if (found.length > MAXIMUM_ANSWERS) throw tooMany(this.event.type);
    }
    return found;
  }

  private explore<T>(
    given: ReadonlyMap<string, string>,
    run: (event: MachineEvent) => T,
  ): { answer: Answer<T>; reads: number }[] {
    const found = [];
    this.open = [new Map(given)];
    for (let next = this.open.pop(); next !== undefined; next = this.open.pop()) {
      this.readings = next;
      this.reads = 0;
      const result = run(this.event);
      found.push({ answer: { readings: this.readings, result }, reads: this.reads });
      if (found.length > MAXIMUM_ANSWERS) throw tooMany(this.event.type);
    }
    return found;
  }

  private read(fact: string, values: readonly string[]): string {
    this.reads += 1;
    const known = this.readings.get(fact);
    if (known !== undefined) return known;
    for (let i = values.length - 1; i > 0; i--) {
      this.open.push(new Map(this.readings).set(fact, values[i]!));
    }
    this.readings.set(fact, values[0]!);
    return values[0]!;
  }
}

const NO_READINGS: ReadonlyMap<string, string> = new Map();

interface Candidate {
  readonly guard: ((scope: { context: unknown; event: MachineEvent }) => boolean) | undefined;
}

/**
 * The transitions of which the first with a true guard is taken, innermost state first; null when that cannot be told
 * from outside: named or combined guards, parallel states.
 */
function candidatesOf(nodes: readonly AnyStateNode[], type: string): readonly Candidate[] | null {
  const found: Candidate[] = [];
  for (let i = nodes.length - 1; i >= 0; i--) {
    const node = nodes[i]!;
    if (node.type === 'parallel') return null;
    for (const transition of node.transitions.get(type) ?? []) {
      const { guard } = transition as { guard?: unknown };
      // XState's `and`, `or`, `not` and `stateIn` are functions that must not be called.
      if (guard !== undefined && (typeof guard !== 'function' || 'check' in guard)) return null;
      found.push(transition as unknown as Candidate);
    }
  }
  return found;
}

function tooMany(type: string): InputError {
  return new InputError(
    `a state tells apart more than ${MAXIMUM_ANSWERS} combinations of facts of ${type}`,
    {},
    'let its guards read fewer facts, or give those facts fewer values',
  );
}
