// One session: its observations in, its result out.
import { Extractor } from '../facts/extract.ts';
import { readObserved, type CellLimits } from '../facts/observed.ts';
import type { Reading } from '../facts/reading.ts';
import { protocols, timeout_ns, type Protocol, type SessionProtocol } from '../protocols/index.ts';
import { createEventReader } from '../protocols/system-c/event.ts';
import { readMessage } from '../protocols/system-c/reading.ts';
import { Monitor } from '../rules/monitor.ts';
import type { Matching, SessionResult } from '../rules/result.ts';
import type { LinkObservation, MessageObservation, Observation } from '../trace/observation.ts';
import { Conformance, type SidePair } from './conformance.ts';
import { judgeSession } from './judge.ts';
import type { Loss } from './loss.ts';
import { SummaryMaker } from './summary.ts';
import { Findings } from './findings.ts';
import type { SessionWatcher } from './watch.ts';

export type MachineSet = Partial<Record<SessionProtocol, SidePair>>;

export interface SessionOptions {
  id: string;
  from_ns: number;
  /** When the connection was opened, if that was seen: set-up timers run from there. */
  opened_ns: number | null;
  /** The session was seen from its handshake on. */
  whole: boolean;
  vehicle: string | null;
  charger: string | null;
  matching: Matching | null;
  machines: MachineSet;
  strict: boolean;
  crashDeadline_ns: number;
  cells: CellLimits | null;
  welded: boolean;
  /** Is shown every step. */
  watcher?: SessionWatcher | undefined;
}

const lossesAtMost = 20;

export class Session {
  readonly options: SessionOptions;
  readonly extractor: Extractor;
  readonly losses: Loss[] = [];
  /** Kinds of observation seen: what a recording does not hold cannot be judged. */
  readonly kinds = new Set<Observation['kind']>();
  closed_ns: number | null = null;
  #protocol: Protocol | null = null;
  #waiting: MessageObservation[] = [];
  readonly #monitor: Monitor;
  readonly #conformance = new Conformance();
  readonly #summary: SummaryMaker;
  readonly #findings = new Findings();
  readonly #event = createEventReader();
  #last: Reading | null = null;
  #last_ns: number;

  constructor(options: SessionOptions) {
    this.options = options;
    this.#last_ns = options.from_ns;
    this.extractor = new Extractor({
      whole: options.whole,
      crashDeadline_ns: options.crashDeadline_ns,
      timeout_ns: (request) => timeout_ns(this.#protocol ?? protocols.din70121, request),
      cells: options.cells,
      welded: options.welded,
    });
    this.#monitor = new Monitor(this.extractor);
    this.#summary = new SummaryMaker(options.from_ns);
  }

  /** Name of the protocol, once a message has told it. */
  get protocol(): SessionProtocol | null {
    return this.#protocol?.dialect.protocol ?? null;
  }

  message(observation: MessageObservation): void {
    const { protocol } = observation;
    if (this.#protocol === null) {
      if (protocol !== 'din70121' && protocol !== 'iso15118-2') {
        this.#waiting.push(observation);
        return;
      }
      this.#start(protocol);
    }
    this.#read(observation);
  }

  /** What another recorder, or an event of the link, adds. */
  observe(observation: Observation): void {
    this.kinds.add(observation.kind);
    this.#step(readObserved(observation), observation);
  }

  link(observation: LinkObservation): void {
    const { state } = observation;
    if (state === 'opened' || state === 'joined') return;
    if (state === 'closed' || state === 'reset') {
      if (this.closed_ns !== null) return;
      this.closed_ns = observation.at_ns;
      this.#summary.linkEnded(state);
      this.#conformance.linkClosed(observation.at_ns);
      this.#step({ ...readObserved(observation), link: 'closed' }, observation);
      return;
    }
    this.lose({ kind: state, says: observation.says });
    this.#conformance.gap();
    this.#step({ ...readObserved(observation), link: 'gap' }, observation);
  }

  lose(loss: Loss): void {
    if (loss.kind === 'clock') this.extractor.clockStepped();
    if (this.losses.length < lossesAtMost) this.losses.push(loss);
  }

  finish(): SessionResult {
    if (this.#protocol === null) for (const one of this.#waiting) this.#read(one);
    if (this.#last !== null) this.#monitor.finish(this.#last);
    this.#findings.collect(this.#monitor, this.#conformance);
    const { options } = this;
    const summary = this.#summary.finish(this.extractor, this.#last_ns, options.whole);
    return judgeSession({
      session: this,
      monitor: this.#monitor,
      conformance: this.#conformance,
      findings: this.#findings.finish(),
      summary: { ...summary, matching: options.matching },
      to_ns: this.#last_ns,
    });
  }

  /** The handshake came before the protocol was known: it is read now. */
  #start(protocol: SessionProtocol): void {
    this.#protocol = protocols[protocol];
    const { machines, whole, opened_ns } = this.options;
    this.#conformance.start(machines[protocol], !whole, opened_ns);
    const before = this.#waiting;
    this.#waiting = [];
    for (const one of before) this.#read(one);
  }

  #read(observation: MessageObservation): void {
    this.kinds.add('message');
    const { dialect } = this.#protocol ?? protocols.din70121;
    const reading = readMessage(observation, dialect);
    const paused = observation.message.ChargingSession === 'Pause';
    this.#step(reading, null);
    this.#summary.message(reading, paused);
    const event = this.#event(observation);
    if (event !== null) {
      this.#conformance.message(event, observation.from, reading.at_ns, reading.frame);
    }
    this.#findings.message(reading, observation.from);
    this.#findings.collect(this.#monitor, this.#conformance);
    this.#show(observation, reading);
  }

  #show(observation: Observation, reading: Reading): void {
    const { watcher } = this.options;
    if (watcher === undefined) return;
    watcher.step(observation, reading, this.extractor, this.#conformance.whereabouts());
  }

  /** `observation`: what is shown at once; a message is shown when the machines have taken it, too. */
  #step(reading: Reading, observation: Observation | null): void {
    this.#last = reading;
    this.#last_ns = Math.max(this.#last_ns, reading.at_ns);
    this.#monitor.step(reading);
    this.#summary.sample(this.extractor, reading.at_ns);
    const { silence } = this.extractor;
    if (silence.lateAnswer !== null) this.#conformance.lateAnswer(silence.lateAnswer, reading);
    if (reading.request === undefined) this.#findings.collect(this.#monitor, this.#conformance);
    if (observation !== null) this.#show(observation, reading);
  }
}
