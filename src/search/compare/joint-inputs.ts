// The events two versions of a machine are asked: every valuation that either of them tells apart, once.
import { InputError } from '../../trace/input-error.ts';
import type { FactDomains } from '../../machine/convention.ts';
import { inputOf, type MachineTable } from '../../machine/table.ts';

/** One event, as the input of each table; -1 where a machine takes no notice of any event of the type. */
export interface JointInput {
  readonly before: number;
  readonly after: number;
  readonly type: string;
  /** Only facts that one of both reads. */
  readonly facts: Facts;
}

export type Facts = { readonly [fact: string]: string };

export interface JointInputs {
  readonly inputs: readonly JointInput[];
  /** The facts of each type of event, with a value of each group that one of both tells apart. */
  readonly read: ReadonlyMap<string, readonly JointFact[]>;
  /** Values of facts, in words, that only one of both may be given: on these no answer can be compared. */
  readonly unshared: readonly string[];
}

/** Combinations of facts of one event, as for a single table. */
const MAXIMUM_COMBINATIONS = 1 << 20;

export function jointInputs(before: MachineTable, after: MachineTable): JointInputs {
  const inputs: JointInput[] = [];
  const unshared: string[] = [];
  const read = new Map<string, readonly JointFact[]>();
  for (const type of new Set([...before.kinds.keys(), ...after.kinds.keys()])) {
    const facts = jointFacts(before, after, type, unshared);
    read.set(type, facts);
    const known = new Set<string>();
    for (const one of valuations(type, facts)) {
      const joint = jointInput(before, after, type, one);
      const key = `${joint.before} ${joint.after}`;
      if (known.has(key)) continue;
      known.add(key);
      inputs.push(joint);
    }
  }
  return { inputs, read, unshared };
}

export function jointInput(
  before: MachineTable,
  after: MachineTable,
  type: string,
  facts: Facts,
): JointInput {
  const event = { ...facts, type };
  return {
    before: before.kinds.has(type) ? inputOf(before, event) : -1,
    after: after.kinds.has(type) ? inputOf(after, event) : -1,
    type,
    facts,
  };
}

export interface JointFact {
  readonly fact: string;
  /** One value for each group that no table tells apart. */
  readonly values: readonly string[];
}

/** The facts one of both reads, with a value of each group of the common refinement. */
function jointFacts(
  before: MachineTable,
  after: MachineTable,
  type: string,
  unshared: string[],
): JointFact[] {
  const tables = [before, after].filter(({ kinds }) => kinds.has(type));
  const read = new Set(
    tables.flatMap(({ kinds }) => kinds.get(type)!.kind.facts.map(({ fact }) => fact)),
  );
  return [...read].map((fact) => {
    const domains = tables.map(({ of }) => (of.alphabet[type] as FactDomains)[fact]);
    const values = sharedValues(domains.filter((one) => one !== undefined));
    for (const [index, domain] of domains.entries()) {
      const own = (domain ?? []).filter((value) => !values.includes(value));
      const who = tables[index] === before ? 'before' : 'after';
      for (const value of own) unshared.push(`${type} with ${fact} ${value}: only ${who} knows it`);
    }
    return { fact, values: representatives(tables, type, fact, values) };
  });
}

function sharedValues(domains: readonly (readonly string[])[]): string[] {
  const [first = [], ...others] = domains;
  return [...new Set(first)].filter((value) => others.every((other) => other.includes(value)));
}

function representatives(
  tables: readonly MachineTable[],
  type: string,
  fact: string,
  values: readonly string[],
): string[] {
  const groups = new Map<string, string>();
  for (const value of values) {
    const key = tables
      .map(({ kinds }) => kinds.get(type)!.kind.facts.find((one) => one.fact === fact))
      .map((grouped) => grouped?.groupOf.get(value) ?? 0)
      .join();
    if (!groups.has(key)) groups.set(key, value);
  }
  return [...groups.values()];
}

export function* valuations(type: string, facts: readonly JointFact[]): Generator<Facts> {
  const combinations = facts.reduce((product, { values }) => product * values.length, 1);
  if (combinations > MAXIMUM_COMBINATIONS) {
    throw new InputError(
      `event ${type} has more than ${MAXIMUM_COMBINATIONS} combinations of facts that one of both machines reads`,
      {},
      'let their guards read fewer of its facts',
    );
  }
  for (let number = 0; number < combinations; number++) {
    const chosen: Record<string, string> = {};
    let rest = number;
    for (const { fact, values } of facts) {
      chosen[fact] = values[rest % values.length]!;
      rest = Math.floor(rest / values.length);
    }
    yield chosen;
  }
}
