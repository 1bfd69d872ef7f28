// Changes to a list of observations already made: a field altered, a message dropped, told twice, late, or from another
// session. Each gives a new list; the one given stays as it was.
import type {
  Json,
  JsonObject,
  MessageObservation,
  Observation,
} from '../../src/trace/observation.ts';

/** Places of the messages of one name, in order. */
export function placesOf(observations: Observation[], name: string): number[] {
  return observations.flatMap((one, place) =>
    one.kind === 'message' && one.name === name ? [place] : [],
  );
}

/** The place of the nth message of a name, from 0; negative counts from the end. Fails when there is none. */
export function placeOf(observations: Observation[], name: string, nth = 0): number {
  const place = placesOf(observations, name).at(nth);
  if (place === undefined) throw new Error(`no ${name} number ${nth} in the dialogue`);
  return place;
}

export function messageAt(observations: Observation[], place: number): MessageObservation {
  const one = observations[place];
  if (one?.kind !== 'message') throw new Error(`no message at ${place}`);
  return one;
}

/** The frame of the nth message of a name. */
export function frameOf(observations: Observation[], name: string, nth = 0): number {
  return messageAt(observations, placeOf(observations, name, nth)).frame!;
}

/** Sets a field of a message by its path (`DC_EVSEStatus.EVSEIsolationStatus`); undefined takes it out. */
export function setField(
  observations: Observation[],
  place: number,
  path: string,
  value: Json | undefined,
): Observation[] {
  const one = messageAt(observations, place);
  const message = withField(one.message, path.split('.'), value);
  return observations.with(place, { ...one, message });
}

function withField(
  object: JsonObject,
  [key, ...rest]: string[],
  value: Json | undefined,
): JsonObject {
  const next = { ...object };
  if (key === undefined) return next;
  if (rest.length > 0) next[key] = withField((next[key] ?? {}) as JsonObject, rest, value);
  else if (value === undefined) delete next[key];
  else next[key] = value;
  return next;
}

export function setSession(
  observations: Observation[],
  place: number,
  SessionID: string,
): Observation[] {
  return observations.with(place, { ...messageAt(observations, place), header: { SessionID } });
}

export function drop(observations: Observation[], ...places: number[]): Observation[] {
  return observations.filter((_, place) => !places.includes(place));
}

export function insert(
  observations: Observation[],
  place: number,
  ...more: Observation[]
): Observation[] {
  return observations.toSpliced(place, 0, ...more);
}

/** Moves everything from `place` on by `by_ms`. */
export function delay(observations: Observation[], place: number, by_ms: number): Observation[] {
  return observations.map((one, index) =>
    index < place ? one : { ...one, at_ns: one.at_ns + Math.round(by_ms * 1e6) },
  );
}

/** Puts recorder observations among others by time, after what has the same time. */
export function beside(observations: Observation[], ...more: Observation[]): Observation[] {
  return [...observations, ...more].toSorted((a, b) => a.at_ns - b.at_ns);
}

/** A told gap in the recording of one connection. */
export function gapAt(at_ns: number, link = 'tcp:1', frame?: number): Observation {
  const gap: Observation = {
    kind: 'link',
    link,
    state: 'gap',
    at_ns,
    from: 'charger',
    bytes: 40,
    says: '40 bytes are missing',
  };
  return frame === undefined ? gap : { ...gap, frame };
}
