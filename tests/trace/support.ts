// What the tests of this folder share: text as bytes in chunks of any size, a trace read whole, random observations.
import * as fc from 'fast-check';
import type { Kind, ObservationOf } from '../../src/trace/fields.ts';
import type { JsonObject, Observation, OpenTrace } from '../../src/trace/observation.ts';
import { openTrace } from '../../src/trace/reader.ts';

export const HEADER = '{"handfast":"trace","version":1,"epoch":null}';

export async function* bytesOf(
  content: string | Uint8Array,
  chunkBytes = 65_536,
): AsyncGenerator<Uint8Array> {
  const bytes = typeof content === 'string' ? new TextEncoder().encode(content) : content;
  for (let start = 0; start < bytes.length; start += chunkBytes) {
    yield bytes.subarray(start, start + chunkBytes);
  }
}

export async function allOf(trace: OpenTrace): Promise<Observation[]> {
  const all: Observation[] = [];
  for await (const batch of trace.observations) all.push(...batch);
  return all;
}

/** The observations of a trace given as its lines after the header. */
export async function read(lines: string[], chunkBytes?: number): Promise<Observation[]> {
  const text = [HEADER, ...lines].join('\n');
  return allOf(await openTrace(bytesOf(`${text}\n`, chunkBytes), 'a.jsonl'));
}

/** Splits observations into the batches of an open trace. */
export function traceOf(
  observations: Observation[],
  { epoch = null, recorder, size = 3 }: { epoch?: string | null; recorder?: string; size?: number },
): OpenTrace {
  async function* batches(): AsyncGenerator<Observation[]> {
    for (let start = 0; start < observations.length; start += size) {
      yield observations.slice(start, start + size);
    }
  }
  const header = { handfast: 'trace', version: 1, epoch } as const;
  return {
    header: recorder === undefined ? header : { ...header, recorder },
    observations: batches(),
  };
}

export const time_ns = fc.oneof(
  fc.integer({ min: -3_999_999_999_999_999, max: 3_999_999_999_999_999 }),
  fc.integer({ min: -2_000_000_000, max: 2_000_000_000 }),
);
const number = fc
  .double({ noNaN: true, noDefaultInfinity: true })
  .map((value) => (value === 0 ? 0 : value));
const whole = fc.maxSafeNat();
const text = fc.string({ unit: 'grapheme' });
const side = fc.constantFrom('vehicle', 'charger');
const mac = fc
  .uint8Array({ minLength: 6, maxLength: 6 })
  .map((address) => [...address].map((byte) => byte.toString(16).padStart(2, '0')).join(':'));
const content = fc
  .dictionary(text, fc.jsonValue({ maxDepth: 3, noUnicodeString: false }), { maxKeys: 4 })
  .map((value) => JSON.parse(JSON.stringify(value)) as JsonObject);

type Fields = Record<string, fc.Arbitrary<unknown>>;

const kinds: { [K in Kind]: { must: Fields; may: Fields } } = {
  message: {
    must: {
      from: side,
      name: text,
      message: content,
      protocol: fc.constantFrom('slac', 'sdp', 'app-protocol', 'din70121', 'iso15118-2'),
    },
    may: { header: content, link: text, sender: mac, receiver: mac },
  },
  link: {
    must: {
      link: text,
      state: fc.constantFrom(
        'opened',
        'joined',
        'closed',
        'reset',
        'gap',
        'encrypted',
        'unreadable',
      ),
      says: text,
    },
    may: {
      from: side,
      bytes: whole,
      byte: whole,
      vehicleAddress: text,
      chargerAddress: text,
      vehicleEnd: text,
      chargerEnd: text,
    },
  },
  // Its state, its voltage or both (hasState).
  pilot: {
    must: {},
    may: {
      state: fc.constantFrom('A', 'B', 'C', 'D', 'E', 'F'),
      voltage_V: number,
      negative_V: number,
      pwm: fc.boolean(),
      duty_percent: fc.double({ min: 0, max: 100, noNaN: true }).map(positive),
    },
  },
  voltage: {
    must: { place: fc.constantFrom('output', 'inlet', 'battery'), voltage_V: number },
    may: {},
  },
  current: { must: { current_A: number }, may: {} },
  contactor: { must: { side, state: fc.constantFrom('open', 'closed') }, may: {} },
  lock: { must: { state: fc.constantFrom('locked', 'unlocked') }, may: {} },
  plug: { must: { state: fc.constantFrom('in', 'out') }, may: {} },
  temperature: {
    must: {
      place: fc.constantFrom('cell', 'connector', 'inlet', 'cable', 'coolant', 'ambient'),
      temperature_C: number,
    },
    may: {},
  },
  cells: { must: {}, may: { lowest_V: number, highest_V: number } },
  isolation: {
    must: { resistance_ohm: number.map(Math.abs) },
    may: { ratedVoltage_V: fc.double({ min: 1e-300, max: 1e300, noNaN: true }) },
  },
  alarm: {
    must: { side, alarm: fc.constantFrom('none', 'stop asked', 'fault', 'emergency', 'crash') },
    may: { says: text },
  },
  note: {
    must: { says: text },
    may: { problem: fc.constantFrom('damaged', 'cut', 'clock', 'unsupported'), byte: whole },
  },
};

/** JSON has no word for -0. */
function positive(value: number): number {
  return Math.abs(value);
}

const ofKind = (kind: Kind): fc.Arbitrary<Observation> => {
  const { must, may } = kinds[kind];
  const base = { frame: fc.integer({ min: 1 }), recorder: text };
  const required = ['kind', 'at_ns', ...Object.keys(must)];
  return fc.record(
    { kind: fc.constant(kind), at_ns: time_ns, ...must, ...may, ...base },
    { requiredKeys: required as never[], noNullPrototype: true },
  ) as unknown as fc.Arbitrary<ObservationOf<Kind>>;
};

const hasState = ({ state, voltage_V }: ObservationOf<'pilot'>): boolean =>
  state !== undefined || voltage_V !== undefined;

/** Any observation that a trace can hold, each kind and each optional field among them. */
export const observation: fc.Arbitrary<Observation> = fc.oneof(
  ...(Object.keys(kinds) as Kind[]).map((kind) =>
    ofKind(kind).filter((one) => one.kind !== 'pilot' || hasState(one)),
  ),
);
