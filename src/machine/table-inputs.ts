// The valuations of one type of event, put into classes: two valuations are in one class when no state tells them apart.
// Facts nobody reads disappear, values nobody tells apart are grouped, and a valuation is looked up by a mixed-radix
// number over the groups.
import { InputError } from '../trace/input-error.ts';
import type { FactDomains, MachineEvent } from './convention.ts';

/** One way some state tells the valuations apart: its answers, results numbered from 0. */
export interface Shape {
  readonly answers: readonly {
    readonly readings: ReadonlyMap<string, string>;
    readonly result: number;
  }[];
}

interface GroupedFact {
  readonly fact: string;
  /** The values that make a difference between them, those of one group none. */
  readonly groups: readonly (readonly string[])[];
  readonly groupOf: ReadonlyMap<string, number>;
}

/** One type of event: its classes, 0 to `count` - 1. */
export interface EventKind {
  readonly type: string;
  readonly facts: readonly GroupedFact[];
  /** The class of each combination of groups; the last fact varies fastest. */
  readonly classes: Int32Array;
  readonly count: number;
  /** Result of each shape in each class: [shape][class]. */
  readonly results: readonly Int32Array[];
}

/** Combinations of the values of all facts that some guard of the machine reads on one event. */
const MAXIMUM_COMBINATIONS = 1 << 20;

export function partition(type: string, domains: FactDomains, shapes: readonly Shape[]): EventKind {
  const facts = readFacts(domains, shapes);
  const combinations = facts.reduce((product, { values }) => product * values.length, 1);
  if (combinations > MAXIMUM_COMBINATIONS) {
    throw new InputError(
      `event ${type} has more than ${MAXIMUM_COMBINATIONS} combinations of facts that guards read`,
      {},
      'let guards read fewer of its facts, or give those facts fewer values',
    );
  }
  const filled = shapes.map((shape) => fill(shape, facts, combinations));
  const { classes, firsts } = refine(filled, combinations);
  return {
    type,
    ...group(facts, classes),
    count: firsts.length,
    results: filled.map((results) => Int32Array.from(firsts, (first) => results[first]!)),
  };
}

/** The class of an event within its kind; -1 when a fact that matters is missing or has a value outside its domain. */
export function classOf({ facts, classes }: EventKind, event: MachineEvent): number {
  let combination = 0;
  for (const { fact, groups, groupOf } of facts) {
    const value = groupOf.get(event[fact]!);
    if (value === undefined) return -1;
    combination = combination * groups.length + value;
  }
  return classes[combination]!;
}

interface ReadFact {
  readonly fact: string;
  readonly values: readonly string[];
  /** How far two neighbouring values are apart among the combinations. */
  readonly stride: number;
}

function readFacts(domains: FactDomains, shapes: readonly Shape[]): ReadFact[] {
  const read = new Set<string>();
  for (const { answers } of shapes) {
    for (const { readings } of answers) for (const fact of readings.keys()) read.add(fact);
  }
  const facts: ReadFact[] = [];
  let stride = 1;
  for (const [fact, domain] of Object.entries(domains).reverse()) {
    if (!read.has(fact)) continue;
    const values = [...new Set(domain)];
    facts.unshift({ fact, values, stride });
    stride *= values.length;
  }
  return facts;
}

function fill({ answers }: Shape, facts: readonly ReadFact[], combinations: number): Int32Array {
  const results = new Int32Array(combinations);
  for (const { readings, result } of answers) {
    const chosen = facts.map(({ fact, values }) => {
      const value = readings.get(fact);
      return value === undefined ? -1 : values.indexOf(value);
    });
    // Facts that vary fastest and were not read make one run of places.
    const last = chosen.findLastIndex((index) => index >= 0);
    const run = last < 0 ? combinations : facts[last]!.stride;
    const write = (i: number, place: number): void => {
      if (i > last) {
        results.fill(result, place, place + run);
        return;
      }
      const { stride, values } = facts[i]!;
      const index = chosen[i]!;
      if (index >= 0) write(i + 1, place + index * stride);
      else for (let k = 0; k < values.length; k++) write(i + 1, place + k * stride);
    };
    write(0, 0);
  }
  return results;
}

/** Classes in which all shapes agree, with the first combination of each. */
function refine(
  filled: readonly Int32Array[],
  combinations: number,
): { classes: Int32Array; firsts: number[] } {
  let classes = new Int32Array(combinations);
  let firsts = [0];
  for (const results of filled) {
    const finer = new Int32Array(combinations);
    const known = new Map<number, number>();
    const found: number[] = [];
    for (let place = 0; place < combinations; place++) {
      // Results are fewer than combinations, so the pair is exact as one number.
      const pair = classes[place]! * (combinations + 1) + results[place]!;
      let id = known.get(pair);
      if (id === undefined) {
        known.set(pair, (id = known.size));
        found.push(place);
      }
      finer[place] = id;
    }
    classes = finer;
    firsts = found;
  }
  return { classes, firsts };
}

/** Groups the values of each fact that no class tells apart. */
function group(
  facts: readonly ReadFact[],
  classes: Int32Array,
): Pick<EventKind, 'facts' | 'classes'> {
  let places = [0];
  const grouped: GroupedFact[] = [];
  for (const read of facts) {
    const { firsts, groups } = groupValues(read, classes);
    places = places.flatMap((place) => firsts.map((first) => place + first * read.stride));
    if (groups.length === 1) continue;
    const groupOf = new Map(
      groups.flatMap((values, index) => values.map((value) => [value, index] as const)),
    );
    grouped.push({ fact: read.fact, groups, groupOf });
  }
  return { facts: grouped, classes: Int32Array.from(places, (place) => classes[place]!) };
}

function groupValues(
  { values, stride }: ReadFact,
  classes: Int32Array,
): { firsts: number[]; groups: string[][] } {
  const firsts: number[] = [];
  const groups: string[][] = [];
  values.forEach((value, index) => {
    const known = firsts.findIndex((first) => alike(first, index, values.length, stride, classes));
    if (known >= 0) groups[known]!.push(value);
    else {
      firsts.push(index);
      groups.push([value]);
    }
  });
  return { firsts, groups };
}

function alike(a: number, b: number, count: number, stride: number, classes: Int32Array): boolean {
  for (let block = 0; block < classes.length; block += stride * count) {
    for (let place = block; place < block + stride; place++) {
      if (classes[place + a * stride] !== classes[place + b * stride]) return false;
    }
  }
  return true;
}
