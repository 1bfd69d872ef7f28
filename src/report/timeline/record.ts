// Records what a report shows while a recording is replayed.
import type { Extractor } from '../../facts/extract.ts';
import type { Reading } from '../../facts/reading.ts';
import type { SessionWatcher, Watcher, Whereabouts } from '../../replay/watch.ts';
import type { SessionResult } from '../../rules/result.ts';
import type { Json, MessageObservation, Observation, Side } from '../../trace/observation.ts';
import { readLeaves, treeOf, type Tree } from './shapes.ts';
import type { LaneName, SeriesName, ShapeHead, Timeline } from './timeline.ts';
import { laneWords, seriesValues } from './values.ts';

/** A report of a longer session would no longer open quickly: what is beyond is counted. */
const ROWS_AT_MOST = 400_000;
/** Matching and discovery of one session take some thirty messages. */
const ASIDES_AT_MOST = 2000;
/** Certificates and the like: what is longer than this is cut. */
const LEAF_AT_MOST = 600;

/** Takes the whole recording; each session's timeline is taken off it when the session has ended. */
export class TimelineRecorder implements Watcher {
  readonly #sessions = new Map<string, SessionRecorder>();
  #asides: MessageObservation[] = [];

  session(id: string): SessionWatcher {
    const recorder = new SessionRecorder();
    this.#sessions.set(id, recorder);
    return recorder;
  }

  aside(observation: MessageObservation): void {
    this.#asides.push(observation);
    if (this.#asides.length > 2 * ASIDES_AT_MOST)
      this.#asides = this.#asides.slice(-ASIDES_AT_MOST);
  }

  /** The timeline of a session that has ended, with the matching and discovery before it. */
  take(session: SessionResult): Timeline {
    const recorder = this.#sessions.get(session.id) ?? new SessionRecorder();
    this.#sessions.delete(session.id);
    const first_ns = recorder.timeline.at_ns[0] ?? session.to * 1e9;
    const { vehicle } = session;
    const own = this.#asides.filter(
      ({ at_ns, sender, receiver }) =>
        at_ns >= session.from * 1e9 &&
        at_ns <= first_ns &&
        (vehicle === null || sender === vehicle || receiver === vehicle),
    );
    return own.length === 0 ? recorder.timeline : recorder.after(own);
  }
}

const NOWHERE: Record<Side, Whereabouts> = {
  vehicle: { stages: [], states: [], next: [] },
  charger: { stages: [], states: [], next: [] },
};

class SessionRecorder implements SessionWatcher {
  readonly timeline: Timeline = {
    at_ns: [],
    frames: [],
    shapes: [],
    heads: [],
    columns: [],
    series: {},
    lanes: {},
    states: [],
    stateSets: [],
    foreign: [],
    omitted: 0,
  };
  readonly #shapes = new Map<string, number>();
  /** The last shape of each name: the next message of that name mostly has it, too. */
  readonly #likely = new Map<string, number>();
  readonly #stateSets = new Map<string, number>();
  #leaves: Json[] = [];

  step(
    observation: Observation,
    reading: Reading,
    extractor: Extractor,
    where: Record<Side, Whereabouts>,
  ): void {
    const { timeline } = this;
    if (timeline.at_ns.length >= ROWS_AT_MOST) {
      timeline.omitted += 1;
      return;
    }
    const row = this.#row(observation, where);
    if (reading.session === 'foreign') timeline.foreign.push(row);
    for (const [name, value] of seriesValues(observation, reading, extractor)) {
      this.#sample(name, row, value);
    }
    for (const [name, word] of laneWords(extractor, where)) this.#lane(name, row, word);
  }

  /** The same with these messages before it. */
  after(asides: readonly MessageObservation[]): Timeline {
    const before = new SessionRecorder();
    for (const one of asides) before.#row(one, NOWHERE);
    return joined(before.timeline, this.timeline);
  }

  #row(observation: Observation, where: Record<Side, Whereabouts>): number {
    const { timeline } = this;
    const row = timeline.at_ns.length;
    timeline.at_ns.push(observation.at_ns);
    timeline.frames.push(observation.frame ?? 0);
    timeline.states.push(this.#stateSet(where));
    const shape = this.#shapeOf(observation);
    timeline.shapes.push(shape);
    const columns = timeline.columns[shape]!;
    for (let index = 0; index < columns.length; index += 1) {
      columns[index]!.push(short(this.#leaves[index]!));
    }
    return row;
  }

  /** The shape of an observation; its leaves are in `#leaves` then. */
  #shapeOf(observation: Observation): number {
    const { head, body } = split(observation);
    const { kind, name, from, link, sender, receiver, recorder } = head;
    const key = `${kind} ${name} ${from} ${link} ${sender} ${receiver} ${recorder}`;
    const likely = this.#likely.get(key);
    if (likely !== undefined && this.#read(this.timeline.heads[likely]!.tree, body)) return likely;
    const tree = treeOf(body);
    this.#read(tree, body);
    const whole = `${key} ${JSON.stringify(tree)}`;
    let shape = this.#shapes.get(whole);
    if (shape === undefined) {
      shape = this.timeline.heads.length;
      this.timeline.heads.push({ ...head, tree });
      this.timeline.columns.push(this.#leaves.map(() => []));
      this.#shapes.set(whole, shape);
    }
    this.#likely.set(key, shape);
    return shape;
  }

  #read(tree: Tree, body: Json): boolean {
    this.#leaves.length = 0;
    return readLeaves(tree, body, this.#leaves);
  }

  #stateSet({ vehicle, charger }: Record<Side, Whereabouts>): number {
    const key = keyOf(vehicle) + keyOf(charger);
    let index = this.#stateSets.get(key);
    if (index === undefined) {
      index = this.timeline.stateSets.length;
      this.timeline.stateSets.push({ vehicle: setOf(vehicle), charger: setOf(charger) });
      this.#stateSets.set(key, index);
    }
    return index;
  }

  #sample(name: SeriesName, row: number, value: number): void {
    const series = (this.timeline.series[name] ??= { rows: [], values: [] });
    series.rows.push(row);
    series.values.push(value);
  }

  #lane(name: LaneName, row: number, word: string): void {
    if (word === 'unknown' && this.timeline.lanes[name] === undefined) return;
    const lane = (this.timeline.lanes[name] ??= { rows: [], words: [] });
    if (lane.words.at(-1) === word) return;
    lane.rows.push(row);
    lane.words.push(word);
  }
}

const keyOf = ({ states, next }: Whereabouts): string => `${states.join('|')}/${next.join('|')}/`;

function setOf({ states, next }: Whereabouts): { states: string[]; next: string[] } {
  return { states, next };
}

function split(observation: Observation): { head: Omit<ShapeHead, 'tree'>; body: Json } {
  const { kind, recorder } = observation;
  const own = recorder === undefined ? {} : { recorder };
  if (observation.kind !== 'message') {
    const { kind: _kind, at_ns: _at, frame: _frame, recorder: _recorder, ...body } = observation;
    return { head: { kind, name: kind, ...own }, body: body as Json };
  }
  const { name, from, protocol, link, sender, receiver, header, message } = observation;
  const head = {
    kind,
    name,
    from,
    protocol,
    ...(link === undefined ? {} : { link }),
    ...(sender === undefined ? {} : { sender }),
    ...(receiver === undefined ? {} : { receiver }),
    ...own,
  };
  return { head, body: header === undefined ? { message } : { header, message } };
}

function short(leaf: Json): Json {
  if (typeof leaf !== 'string' || leaf.length <= LEAF_AT_MOST) return leaf;
  return `${leaf.slice(0, LEAF_AT_MOST)}… (${leaf.length} characters)`;
}

/** Two timelines one after the other. Only the second has figures and facts. */
function joined(first: Timeline, second: Timeline): Timeline {
  const rows = first.at_ns.length;
  const shapes = first.heads.length;
  const sets = first.stateSets.length;
  const later = <T extends { rows: number[] }>(columns: { [name: string]: T }) =>
    Object.fromEntries(
      Object.entries(columns).map(([name, one]) => [
        name,
        { ...one, rows: one.rows.map((row) => row + rows) },
      ]),
    );
  return {
    at_ns: [...first.at_ns, ...second.at_ns],
    frames: [...first.frames, ...second.frames],
    shapes: [...first.shapes, ...second.shapes.map((shape) => shape + shapes)],
    heads: [...first.heads, ...second.heads],
    columns: [...first.columns, ...second.columns],
    series: later(second.series as Required<Timeline['series']>),
    lanes: later(second.lanes as Required<Timeline['lanes']>),
    states: [...first.states, ...second.states.map((set) => set + sets)],
    stateSets: [...first.stateSets, ...second.stateSets],
    foreign: second.foreign.map((row) => row + rows),
    omitted: second.omitted,
  };
}
