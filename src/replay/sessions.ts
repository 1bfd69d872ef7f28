// Cuts a trace into sessions: one application-protocol handshake on one connection to its close. Matching messages
// (SLAC) belong to a session by address and time; what meters and pilot logs saw belongs to the session it overlaps.
import type { CellLimits } from '../facts/observed.ts';
import type { SessionResult } from '../rules/result.ts';
import type { LinkObservation, MessageObservation, Observation } from '../trace/observation.ts';
import { MatchingBook } from './matching.ts';
import { Session, type MachineSet } from './session.ts';
import type { Watcher } from './watch.ts';

export interface SessionsOptions {
  machines: MachineSet;
  strict: boolean;
  crashDeadline_ns: number;
  cells: CellLimits | null;
  onSession: (session: SessionResult) => void;
  watcher?: Watcher | undefined;
}

/** After a close, what other recorders still see (voltage, lock, contactors) belongs to the session for this long. */
const afterClose_ns = 120_000_000_000;
/** Messages of a trace that names no connection. */
const NO_LINK = 'trace';
const problemsAtMost = 20;

interface Link {
  opened: LinkObservation | null;
  session: Session | null;
}

export class Sessions {
  readonly results: SessionResult[] = [];
  /** What is wrong with the recording itself, in words. */
  readonly problems: string[] = [];
  readonly #options: SessionsOptions;
  readonly #links = new Map<string, Link>();
  readonly #matching = new MatchingBook();
  /** Sessions that still take observations, closed ones included. */
  #live: Session[] = [];
  /** Latest of each kind outside any session: the state in which the next one starts. */
  #standing = new Map<string, Observation>();
  #count = 0;
  /** Vehicles whose last session ended on a voltage that stayed. */
  readonly #welded = new Set<string>();
  #unattributed = 0;

  constructor(options: SessionsOptions) {
    this.#options = options;
  }

  take(observation: Observation): void {
    this.#retire(observation.at_ns);
    if (observation.kind === 'message') this.#message(observation);
    else if (observation.kind === 'link') this.#link(observation);
    else if (observation.kind === 'note') this.#note(observation);
    else this.#observed(observation);
  }

  finish(): void {
    for (const session of this.#live) this.#finish(session);
    this.#live = [];
    if (this.#unattributed > 0) {
      this.problems.push(
        `${this.#unattributed} observations of other recorders fell where several sessions ran at once and were left out`,
      );
    }
    const unused = this.#matching.unused();
    if (unused > 0 && this.#count === 0) {
      this.problems.push('SLAC matching was seen, but no session followed it');
    }
  }

  #message(observation: MessageObservation): void {
    if (observation.protocol === 'slac' || observation.protocol === 'sdp') {
      if (observation.protocol === 'slac') this.#matching.take(observation);
      this.#options.watcher?.aside(observation);
      return;
    }
    const name = observation.link ?? NO_LINK;
    const link = this.#linkOf(name);
    const starts = observation.name === 'supportedAppProtocolReq';
    if (link.session === null || (starts && link.session.protocol !== null)) {
      // A second session on one connection begins with its handshake, not with the connection.
      const opened = link.session === null ? link.opened : anew(link.opened, observation.at_ns);
      if (link.session !== null) this.#end(link.session);
      const whole = starts || observation.name === 'SessionSetupReq';
      link.session = this.#open(observation, opened, whole);
    }
    link.session.message(observation);
  }

  #link(observation: LinkObservation): void {
    const link = this.#linkOf(observation.link);
    if (observation.state === 'opened' || observation.state === 'joined') {
      if (link.session !== null) this.#end(link.session);
      this.#links.set(observation.link, { opened: observation, session: null });
      return;
    }
    if (observation.state === 'encrypted' && link.session === null) {
      link.session = this.#open(observation, link.opened, false);
    }
    link.session?.link(observation);
  }

  #note(observation: Observation & { kind: 'note' }): void {
    if (observation.problem === undefined) return;
    const where = observation.frame === undefined ? '' : `frame ${observation.frame}: `;
    if (this.problems.length < problemsAtMost) this.problems.push(where + observation.says);
    if (observation.problem === 'unsupported') return;
    for (const session of this.#live) {
      const kind = observation.problem === 'clock' ? 'clock' : 'gap';
      if (session.closed_ns === null) session.lose({ kind, says: where + observation.says });
    }
  }

  #observed(observation: Observation): void {
    const place =
      'place' in observation ? observation.place : 'side' in observation ? observation.side : '';
    const [session, second] = this.#live;
    if (second !== undefined) {
      this.#unattributed += 1;
      return;
    }
    if (session !== undefined) session.observe(observation);
    this.#standing.set(`${observation.kind} ${place}`, observation);
  }

  #open(
    first: MessageObservation | LinkObservation,
    opened: LinkObservation | null,
    whole: boolean,
  ): Session {
    for (const session of this.#live.filter((one) => one.closed_ns !== null)) this.#end(session);
    const isRequest = first.kind === 'message' && first.from === 'vehicle';
    const [sender, receiver] =
      first.kind === 'message' ? [first.sender ?? null, first.receiver ?? null] : [null, null];
    const vehicle = opened?.vehicleAddress ?? (isRequest ? sender : receiver);
    const charger = opened?.chargerAddress ?? (isRequest ? receiver : sender);
    const start_ns = opened?.state === 'opened' ? opened.at_ns : first.at_ns;
    const matching = this.#matching.claim(vehicle, start_ns);
    this.#count += 1;
    const id = `S${this.#count}`;
    const session = new Session({
      id,
      from_ns: matching === null ? start_ns : Math.round(matching.from * 1e9),
      opened_ns: opened?.state === 'opened' ? opened.at_ns : null,
      whole,
      vehicle,
      charger,
      matching,
      machines: this.#options.machines,
      strict: this.#options.strict,
      crashDeadline_ns: this.#options.crashDeadline_ns,
      cells: this.#options.cells,
      welded: vehicle !== null && this.#welded.has(vehicle),
      watcher: this.#options.watcher?.session(id),
    });
    for (const standing of switchesFirst(this.#standing.values())) {
      session.observe({ ...standing, at_ns: start_ns });
    }
    this.#live.push(session);
    return session;
  }

  /** A closed session takes what meters saw for a while, then its result is told. */
  #retire(now_ns: number): void {
    if (this.#live.length === 0) return;
    for (const session of this.#live) {
      const { closed_ns } = session;
      if (closed_ns !== null && now_ns - closed_ns > afterClose_ns) this.#end(session);
    }
  }

  #end(session: Session): void {
    if (!this.#live.includes(session)) return;
    this.#live = this.#live.filter((one) => one !== session);
    for (const link of this.#links.values()) if (link.session === session) link.session = null;
    this.#finish(session);
  }

  #finish(session: Session): void {
    const result = session.finish();
    const { vehicle } = session.options;
    if (vehicle !== null) {
      if (session.extractor.facts.weld === 'stays') this.#welded.add(vehicle);
      else this.#welded.delete(vehicle);
    }
    this.results.push(result);
    this.#options.onSession(result);
  }

  #linkOf(name: string): Link {
    let link = this.#links.get(name);
    if (link === undefined) this.#links.set(name, (link = { opened: null, session: null }));
    return link;
  }
}

function anew(opened: LinkObservation | null, at_ns: number): LinkObservation | null {
  return opened === null ? null : { ...opened, at_ns };
}

const isSwitch = ({ kind }: Observation): boolean => kind === 'contactor' || kind === 'plug';

/** A voltage means something only once it is known which contactor stands closed. */
function switchesFirst(standing: Iterable<Observation>): Observation[] {
  const all = [...standing];
  return [...all.filter(isSwitch), ...all.filter((one) => !isSwitch(one))];
}
