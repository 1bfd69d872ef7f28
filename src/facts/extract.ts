// The fact extractor: readings in, facts out. All windows over time and all numbers live here or below; a rule sees
// only the finite result, and these fields when it tells what happened.
import {
  reverseFact,
  gateDistance_V,
  currentFact,
  gateFact,
  drivenFact,
  voltageSince,
} from './electrical.ts';
import {
  electricalAfterLoss,
  initialElectrical,
  stepElectrical,
  type Electrical,
} from './electrical.ts';
import { initialConsents, stepConsents, stepIsolation, type Consents } from './consent.ts';
import { initialCrash, stepCrash, type Crash } from './crash.ts';
import { Duties } from './duties.ts';
import { Envelope } from './envelope.ts';
import type { EvidenceKind, MarginSample } from './evidence.ts';
import { ExchangeThread } from './exchange.ts';
import { closingGate_V } from './figures.ts';
import { readPilot } from './pilot.ts';
import type { Reading } from './reading.ts';
import { Silence } from './silence.ts';
import { stopTriggers } from './triggers.ts';
import { initialFacts, joinedFacts, type Act, type Facts } from './vocabulary.ts';
import { initialWeld, stepWeld, type Weld } from './weld.ts';
import { stepObservedFacts, type CellLimits } from './observed.ts';

export interface ExtractorOptions {
  /** The session was seen from its handshake on. */
  whole: boolean;
  crashDeadline_ns: number;
  /** How long the vehicle waits for the answer to a request, in nanoseconds (from the protocol's timing table). */
  timeout_ns: (request: string) => number;
  cells: CellLimits | null;
  /** An earlier session of this vehicle ended with a voltage that stayed at its inlet. */
  welded: boolean;
}

export class Extractor {
  readonly #options: ExtractorOptions;
  consents: Consents;
  electrical: Electrical;
  crash: Crash = initialCrash;
  weld: Weld;
  readonly duties = new Duties();
  readonly envelope = new Envelope();
  readonly silence: Silence;
  facts: Facts;
  /** Frame and kind of what made the isolation what it is. */
  isolationFrame: number | null = null;
  isolationEvidence: EvidenceKind = 'reported';
  readonly thread = new ExchangeThread();
  #closed = false;
  /** Both sides agreed to power: until then a stop has no current to bring down. */
  #powered = false;
  /** Set until the first reading by the clock's new time. */
  #clockStepped = false;
  #last_ns = -Infinity;

  constructor(options: ExtractorOptions) {
    this.#options = options;
    this.consents = initialConsents(options.whole);
    this.electrical = options.whole ? initialElectrical : electricalAfterLoss(initialElectrical);
    this.silence = new Silence(options.timeout_ns);
    this.facts = options.whole ? initialFacts : joinedFacts;
    if (options.welded) this.facts = { ...this.facts, weld: 'stays' };
    this.weld = { ...initialWeld, state: this.facts.weld };
  }

  /** Takes one reading and returns the facts after it. Readings come in time order. */
  step(reading: Reading): Facts {
    if (this.#last_ns === -Infinity && !this.#options.whole) this.envelope.forget(reading.at_ns);
    if (reading.at_ns < this.#last_ns) this.clockStepped();
    if (reading.link === 'gap') this.#lose(reading);
    if (this.#clockStepped) this.envelope.forget(reading.at_ns);
    this.#clockStepped = false;
    this.#last_ns = reading.at_ns;
    if (reading.link === 'closed') this.#closed = true;
    const { thread } = this;
    const session = thread.session(reading);
    const act = thread.act(reading);
    if (session !== null) reading.session = session;
    const { observed } = reading;
    if (observed?.kind === 'pilot') reading.pilot = readPilot(observed, this.facts.pilot);
    if (thread.followNotice(reading)) this.duties.cancel('stop notice');

    const before = this.consents;
    this.electrical = stepElectrical(this.electrical, reading, act);
    this.consents = stepConsents(before, reading, act, thread.passed(reading.at_ns));
    this.#stepDuties(reading, act, before);
    this.envelope.step(reading, act, this.consents.vehicle === 'test');
    this.silence.step(reading, act, this.electrical.current);
    this.weld = stepWeld(this.weld, reading, act, this.electrical);
    this.crash = stepCrash(this.crash, reading, this.electrical, this.#options.crashDeadline_ns);
    this.facts = this.#assemble(reading, act, session);
    return this.facts;
  }

  /** The session is over: deadlines that still run were not observed. */
  finish(): Facts {
    this.duties.finish(this.#last_ns);
    const { crash } = this;
    this.facts = {
      ...this.facts,
      vehicleAct: null,
      chargerAct: null,
      session: null,
      answers: null,
      silent: 'nobody',
      vehicleStop: this.duties.worst('vehicle'),
      chargerStop: this.duties.worst('charger'),
      crashDuty: crash.duty === 'running' ? 'unobserved' : crash.duty,
    };
    return this.facts;
  }

  /** Every number of this step that came near a rule's limit. */
  *margins(): Iterable<MarginSample> {
    yield* this.envelope.margins;
    yield* this.duties.margins;
    yield* this.silence.margins;
    if (this.crash.margin !== null) yield this.crash.margin;
    const distance_V = gateDistance_V(this.electrical, this.#last_ns);
    if (this.facts.vehicleAct !== 'power' || distance_V === null) return;
    const { at_ns, frame } = this.electrical.output ?? this.electrical.inlet!;
    yield {
      rule: 'gate-before-close',
      value: distance_V,
      limit: closingGate_V.value,
      unit: 'V',
      at_ns,
      frame,
    };
  }

  /** The clock stepped: no time from before it can be held against one after it. */
  clockStepped(): void {
    this.duties.lose(this.#last_ns);
    this.silence.forget();
    this.electrical = {
      ...this.electrical,
      output: null,
      inlet: null,
      battery: null,
      current: null,
    };
    this.#clockStepped = true;
  }

  /** Bytes are missing: nothing that a lost message could change is known any more. */
  #lose({ at_ns }: Reading): void {
    this.duties.lose(this.#last_ns);
    this.silence.forget();
    this.consents = initialConsents(false);
    this.electrical = electricalAfterLoss(this.electrical);
    this.envelope.forget(at_ns);
    this.thread.lose();
    if (this.weld.stopped_ns !== null) this.weld = initialWeld;
    this.facts = { ...this.facts, isolation: 'unknown', whole: false };
  }

  #stepDuties(reading: Reading, act: Act | null, before: Consents): void {
    const { duties, electrical } = this;
    const output = { current: electrical.current, voltage: electrical.output };
    duties.step(reading, act, output);
    if (this.#opens(reading)) {
      const trigger = "the vehicle's contactor opened";
      duties.arm({ kind: 'contactor opened', trigger, delay_s: 0 }, reading, output, null);
    }
    const withdrawn = approachWithdrawn(before, this.consents);
    const closed = electrical.everClosed || electrical.perhapsClosed;
    if (withdrawn !== null && !closed) {
      const trigger = { kind: 'approach withdrawn', trigger: withdrawn, delay_s: 0 } as const;
      duties.arm(trigger, reading, output, null);
    }
    if (act === 'power' && reading.request === true && this.consents.vehicle === 'power') {
      // The vehicle's own stop is over once it asks for power again.
      duties.cancel('vehicle stop', 'vehicle fault', 'request of 0 A');
    }
    const [vehicle, charger] = [mayFlow(before.vehicle, act), mayFlow(before.charger, act)];
    if (vehicle && charger) this.#powered = true;
    else if (act === 'renegotiate') this.#powered = false;
    if (!this.#powered || (!vehicle && !charger)) return;
    if (act === 'demand' && (reading.targetCurrent_A ?? 0) > 0) duties.cancel('request of 0 A');
    const asked_A = this.envelope.asked(reading.at_ns)?.latest ?? null;
    const passed = this.facts.isolation === 'valid' || this.facts.isolation === 'warning';
    for (const trigger of stopTriggers(reading, act, this.thread.notice, passed)) {
      duties.arm(trigger, reading, output, asked_A);
    }
  }

  /** The vehicle's contactor was seen to open after it had been closed. */
  #opens({ observed }: Reading): boolean {
    const opened = observed?.kind === 'contactor' && observed.side === 'vehicle';
    if (!opened || observed.state !== 'open') return false;
    return this.electrical.everClosed && this.facts.vehicleContactor !== 'open';
  }

  #assemble(reading: Reading, act: Act | null, session: Facts['session']): Facts {
    const { at_ns } = reading;
    const { electrical, silence, duties } = this;
    const before = this.facts;
    const isolation = stepIsolation(before.isolation, reading, act);
    if (isolation !== before.isolation) {
      this.isolationFrame = reading.frame;
      this.isolationEvidence = reading.evidence;
    }
    const withdrawn_ns = withdrawnAt_ns(this.consents);
    // Every key written out: copying the facts before and changing most of them costs three times as much (measured).
    const now: Facts = {
      plugged: before.plugged,
      locked: before.locked,
      pilot: before.pilot,
      vehicleConsent: this.consents.vehicle,
      chargerConsent: this.consents.charger,
      isolation,
      outputVoltage: voltageSince(electrical.output, at_ns, withdrawn_ns),
      inletVoltage: voltageSince(electrical.inlet, at_ns, withdrawn_ns),
      outputDriven: drivenFact(electrical, at_ns, withdrawn_ns),
      gate: gateFact(electrical, at_ns),
      vehicleContactor: electrical.vehicleContactor,
      chargerContactor: electrical.chargerContactor,
      current: currentFact(electrical, at_ns),
      reverse: reverseFact(electrical, at_ns),
      limits: this.envelope.limits,
      demand: this.envelope.demand,
      cells: before.cells,
      link: this.#closed ? 'closed' : silence.silent === 'nobody' ? 'fresh' : 'stale',
      asked: this.thread.asked(),
      silent: silence.silent,
      vehicleAlarm: before.vehicleAlarm,
      chargerAlarm: before.chargerAlarm,
      vehicleStop: duties.worst('vehicle'),
      chargerStop: duties.worst('charger'),
      crashDuty: this.crash.duty,
      weld: this.weld.state,
      weldTold: this.weld.told,
      vehicleAct: reading.request === true ? act : null,
      chargerAct: reading.request === false && reading.ok === true ? act : null,
      session,
      answers: this.thread.answers(reading),
      whole: before.whole,
    };
    return stepObservedFacts(now, reading, this.#options.cells);
  }
}

/** When a consent that still stands withdrawn was withdrawn last; -Infinity when none is. */
function withdrawnAt_ns({
  vehicle,
  charger,
  vehicleWithdrawal,
  chargerWithdrawal,
}: Consents): number {
  const byVehicle = vehicle === 'withdrawn' ? vehicleWithdrawal!.at_ns : -Infinity;
  const byCharger = charger === 'withdrawn' ? chargerWithdrawal!.at_ns : -Infinity;
  return Math.max(byVehicle, byCharger);
}

/** In words, who has just withdrawn a consent to the test or the approach; null when nobody has. */
function approachWithdrawn(before: Consents, now: Consents): string | null {
  for (const side of ['vehicle', 'charger'] as const) {
    const had = before[side] === 'test' || before[side] === 'approach';
    if (!had || now[side] !== 'withdrawn') continue;
    return now[`${side}Withdrawal`]!.because.replace(/^it /, `the ${side} `);
  }
  return null;
}

/** Where the recording joined the session, its set-up, test and pre-charge still say that no power was agreed. */
function mayFlow(consent: Consents['vehicle'], act: Act | null): boolean {
  const beforePower = act === 'setup' || act === 'test' || act === 'approach';
  return consent === 'power' || (consent === 'unknown' && !beforePower);
}
