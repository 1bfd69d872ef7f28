// Random valid messages, drawn from the same models that the grammars are built from.
import * as fc from 'fast-check';
import type { Arbitrary } from 'fast-check';
import type { Json, JsonObject } from '../../../src/trace/observation.ts';
import type { GlobalElement, Model, Particle, Term } from '../../../src/wire/exi/model.ts';
import { valueType } from '../../../src/wire/exi/value-types.ts';

/** Repetitions drawn: enough to leave the first state, few enough to be quick. */
const ITEMS_MAX = 3;
const LENGTH_MAX = 40;

interface Named {
  name: string;
  type: string;
}

export class RandomMessages {
  private readonly model: Model;
  private readonly drawn = new Map<string, Arbitrary<Json>>();

  constructor(model: Model) {
    this.model = model;
  }

  message(): Arbitrary<JsonObject> {
    const { document } = this.model;
    if (document !== null) {
      return this.type(this.model.elements.get(document)!.type) as Arbitrary<JsonObject>;
    }
    const roots = [...this.model.elements.values()].filter((one) => this.drawable(one));
    return fc.oneof(...roots.map((one) => fc.record({ [one.name]: this.type(one.type) })));
  }

  private type(name: string): Arbitrary<Json> {
    const known = this.drawn.get(name) ?? this.make(name);
    this.drawn.set(name, known);
    return known;
  }

  private make(name: string): Arbitrary<Json> {
    if (!this.model.complex.has(name)) {
      return this.value(name);
    }
    const parts: Arbitrary<JsonObject>[] = [];
    for (const type of this.chain(name)) {
      for (const attribute of type.attributes) {
        const value = this.value(attribute.type);
        parts.push(optional({ [`@${attribute.name}`]: value }, attribute.optional));
      }
      if (type.content !== null) {
        parts.push(fc.record({ $: this.value(type.content) }));
      }
      if (type.mixed) {
        parts.push(optional({ $: fc.string({ unit: 'binary', maxLength: 8 }) }, true));
      }
      parts.push(...type.particles.map((particle) => this.particle(particle)));
    }
    return fc.tuple(...parts).map((drawn) => Object.assign({}, ...drawn) as JsonObject);
  }

  private chain(name: string): NonNullable<ReturnType<Model['complex']['get']>>[] {
    const type = this.model.complex.get(name)!;
    return type.base === null ? [type] : [...this.chain(type.base), type];
  }

  private particle(particle: Particle): Arbitrary<JsonObject> {
    const options = particle.options.flatMap((term) => this.options(term));
    if (options.length === 0) {
      return fc.constant({});
    }
    const { min, max } = particle;
    const item = (option: Named): Arbitrary<Json> =>
      max === 1
        ? this.type(option.type)
        : fc.array(this.type(option.type), {
            minLength: Math.max(1, min),
            maxLength: Math.min(max, ITEMS_MAX),
          });
    const single = fc.oneof(
      ...options.map((one) => optional({ [one.name]: item(one) }, min === 0)),
    );
    // A choice that repeats may hold several kinds.
    const several = options.map((one) => optional({ [one.name]: item(one) }, true));
    return max === 1 || options.length === 1
      ? single
      : fc.tuple(single, ...several).map((drawn) => Object.assign({}, ...drawn) as JsonObject);
  }

  private options(term: Term): Named[] {
    if (term.kind === 'any') {
      return [];
    }
    if (term.kind === 'element') {
      return [term];
    }
    const members = [...this.model.elements.values()].filter((one) => one.head === term.name);
    return [this.model.elements.get(term.name)!, ...members].filter((one) => this.drawable(one));
  }

  /** KeyValue holds nothing but elements that the models know by name alone. */
  private drawable(element: GlobalElement): boolean {
    return !element.abstract && !element.partial && element.name !== 'KeyValue';
  }

  private value(name: string): Arbitrary<Json> {
    const type = valueType(name, this.model.simple)!;
    const length = {
      minLength: type.lengthMin,
      maxLength: Math.max(type.lengthMin, Math.min(type.lengthMax, LENGTH_MAX)),
    };
    switch (type.kind) {
      case 'listed':
        return fc.constantFrom(...type.values);
      case 'unsigned':
      case 'integer':
        return fc.integer({ min: type.min, max: type.max });
      case 'big unsigned':
      case 'big integer': {
        const min = type.bigMin ?? -(2n ** 159n);
        return fc.bigInt({ min, max: type.bigMax ?? 2n ** 159n }).map(String);
      }
      case 'string':
        return fc.string({ unit: 'binary', ...length });
      case 'hex':
        return octets(length).map((buffer) => buffer.toString('hex').toUpperCase());
      case 'base64':
        return octets(length).map((buffer) => buffer.toString('base64'));
    }
  }
}

function octets(length: { minLength: number; maxLength: number }): Arbitrary<Buffer> {
  return fc.uint8Array(length).map((drawn) => Buffer.from(drawn));
}

function optional(
  fields: Record<string, Arbitrary<Json>>,
  mayLack: boolean,
): Arbitrary<JsonObject> {
  const some = fc.record(fields);
  return mayLack ? fc.oneof(fc.constant({}), some) : some;
}
