// A session of System C made by hand: `dialogue('iso15118-2').handshake().cableCheck().preCharge().start()…`, both
// sides well-behaved unless told otherwise, at times a capture would show. alter.ts changes what was built.
import type { JsonObject, Observation, Side } from '../../src/trace/observation.ts';
import { answerBody, type AnswerWords } from '../../src/protocols/system-c/answer-bodies.ts';
import {
  goodIsolation,
  type ChargerStatus,
  type SideLimits,
  type SystemCProtocol,
  type VehicleStatus,
} from '../../src/protocols/system-c/body-parts.ts';
import { requestBody, type RequestWords } from '../../src/protocols/system-c/request-bodies.ts';
import { answerWords, requestWords } from './words.ts';

export type DialogueProtocol = SystemCProtocol;

export interface DialogueOptions {
  sessionId?: string;
  link?: string;
  /** Time of the first observation, and its frame. */
  start_s?: number;
  firstFrame?: number;
  battery_V?: number;
  vehicleLimits?: SideLimits;
  chargerLimits?: SideLimits;
  vehicleAddress?: string;
  chargerAddress?: string;
  /** Without TCP handshake, as in a trace that names no connection. */
  unlinked?: boolean;
}

/** What one exchange of a step may do differently. */
export interface Turn {
  vehicle?: VehicleStatus;
  charger?: ChargerStatus;
  /** Request after the answer before it, answer after the request. */
  pause_ms?: number;
  answer_ms?: number;
}

type Over<T> = T | ((seconds: number) => T);

/** Where the protocols name the same step differently. */
const names = {
  din70121: { selection: 'ServicePaymentSelection', authorization: 'ContractAuthentication' },
  'iso15118-2': { selection: 'PaymentServiceSelection', authorization: 'Authorization' },
} as const;

export const dialogue = (protocol: DialogueProtocol, options: DialogueOptions = {}): Dialogue =>
  new Dialogue(protocol, options);

export class Dialogue {
  readonly protocol: DialogueProtocol;
  readonly observations: Observation[] = [];
  #options: Required<Omit<DialogueOptions, 'start_s' | 'firstFrame'>>;
  #now_ns: number;
  #frame: number;
  #named = false;
  /** What the charger reports at its output. */
  #voltage_V = 0;
  #current_A = 0;

  constructor(protocol: DialogueProtocol, options: DialogueOptions) {
    this.protocol = protocol;
    this.#options = {
      sessionId: 'A1B2C3D4E5F60708',
      link: 'tcp:1',
      battery_V: 352,
      vehicleLimits: { voltage_V: 420, current_A: 250 },
      chargerLimits: { voltage_V: 500, current_A: 300, power_W: 150_000 },
      vehicleAddress: '02:00:00:00:00:01',
      chargerAddress: '02:00:00:00:01:01',
      unlinked: false,
      ...options,
    };
    this.#now_ns = Math.round((options.start_s ?? 0) * 1e9);
    this.#frame = options.firstFrame ?? 1;
  }

  /** Seconds of the next message, before its pause; and the frame it will have. */
  get now_s(): number {
    return this.#now_ns / 1e9;
  }

  get nextFrame(): number {
    return this.#frame;
  }

  /** The matching before the connection: first and last message of SLAC, others left out. */
  matching(runId = '0102030405060708'): this {
    const { vehicleAddress, chargerAddress } = this.#options;
    const slac = (name: string, from: Side, after_ms: number) => {
      const [sender, receiver] =
        from === 'vehicle' ? [vehicleAddress, chargerAddress] : [chargerAddress, vehicleAddress];
      this.wait(after_ms);
      const message = { APPLICATION_TYPE: 0, SECURITY_TYPE: 0, RunID: runId };
      this.#push({ kind: 'message', from, name, message, protocol: 'slac', sender, receiver });
    };
    slac('CM_SLAC_PARM.REQ', 'vehicle', 0);
    slac('CM_SLAC_PARM.CNF', 'charger', 20);
    slac('CM_SLAC_MATCH.REQ', 'vehicle', 700);
    slac('CM_SLAC_MATCH.CNF', 'charger', 30);
    return this.wait(1500);
  }

  /** Connection, handshake of the application protocol, set-up up to ChargeParameterDiscovery. */
  handshake({ charger = {}, vehicle = {} }: Turn = {}): this {
    const { unlinked, vehicleLimits, chargerLimits } = this.#options;
    if (!unlinked) this.#link('opened', 'connection opened (SYN)');
    this.#protocolHandshake();
    const { authorization, selection } = names[this.protocol];
    this.#turn('SessionSetup', {}, { code: 'OK_NewSessionEstablished' });
    for (const name of ['ServiceDiscovery', selection, authorization]) this.#turn(name, {}, {});
    return this.#turn(
      'ChargeParameterDiscovery',
      { vehicle: { ready: false, ...vehicle }, limits: vehicleLimits },
      {
        charger: { isolation: 'Invalid', status: 'EVSE_NotReady', ...charger },
        limits: chargerLimits,
        code: charger.code ?? 'OK',
      },
    );
  }

  /** ChargeParameterDiscovery once more, as after a renegotiation. */
  parameters({ charger = {}, vehicle = {} }: Turn = {}): this {
    const { vehicleLimits, chargerLimits } = this.#options;
    const isolation = goodIsolation[this.protocol];
    return this.#turn(
      'ChargeParameterDiscovery',
      { vehicle: { ready: true, ...vehicle }, limits: vehicleLimits },
      { charger: { isolation, ...charger }, limits: chargerLimits, code: charger.code ?? 'OK' },
    );
  }

  /** `rounds` exchanges: all Ongoing but the last; `finish` false leaves that Ongoing too. `charger` is the last's. */
  cableCheck({
    rounds = 3,
    finish = true,
    charger = {},
    vehicle = {},
  }: Turn & { rounds?: number; finish?: boolean } = {}): this {
    for (let round = 1; round <= rounds; round += 1) {
      const done = finish && round === rounds;
      const testing = { status: 'EVSE_IsolationMonitoringActive', isolation: 'Invalid' };
      const says = done ? charger : { ...testing, ...(round === rounds ? charger : {}) };
      this.#turn(
        'CableCheck',
        { vehicle },
        {
          charger: says,
          code: says.code ?? 'OK',
          processing: done ? 'Finished' : 'Ongoing',
        },
        { pause_ms: 400 },
      );
    }
    return this;
  }

  /** One exchange for each voltage reported; by default from far below to 2 V from the battery. */
  preCharge({
    target_V = this.#options.battery_V,
    reports_V = [0.3 * target_V, 0.8 * target_V, target_V - 2],
    asks_A = 1,
    ...turn
  }: Turn & { target_V?: number; reports_V?: number[]; asks_A?: number } = {}): this {
    for (const voltage_V of reports_V) {
      this.#voltage_V = voltage_V;
      const { vehicle = {}, charger = {} } = turn;
      this.#turn(
        'PreCharge',
        { vehicle, targetVoltage_V: target_V, targetCurrent_A: asks_A },
        { charger, code: charger.code ?? 'OK', presentVoltage_V: voltage_V },
        { pause_ms: 200, ...turn },
      );
    }
    return this;
  }

  /** PowerDelivery to start. */
  start(turn: Turn = {}): this {
    this.#voltage_V = this.#options.battery_V;
    return this.#powerDelivery('Start', turn);
  }

  renegotiate(turn: Turn = {}): this {
    return this.#powerDelivery('Renegotiate', { charger: { notification: 'None' }, ...turn });
  }

  /**
   * CurrentDemand every `period_ms`. What is asked, delivered and said may be functions of the seconds since the first
   * request; `delivers_A` is what was asked unless told.
   */
  demand({
    seconds = 2,
    period_ms = 200,
    asks_A = 180,
    delivers_A,
    voltage_V = this.#options.battery_V + 10,
    target_V = this.#options.vehicleLimits.voltage_V,
    vehicle = {},
    charger = {},
    answer_ms = 25,
    more = {},
  }: {
    seconds?: number;
    period_ms?: number;
    asks_A?: Over<number>;
    delivers_A?: Over<number>;
    voltage_V?: Over<number>;
    target_V?: Over<number>;
    vehicle?: Over<VehicleStatus>;
    charger?: Over<ChargerStatus>;
    answer_ms?: number;
    /** Further fields of the request: limits, ChargingComplete. */
    more?: Over<JsonObject>;
  } = {}): this {
    const begin_ns = this.#now_ns + (period_ms - answer_ms) * 1e6;
    const turns = Math.round((seconds * 1000) / period_ms);
    for (let turn = 0; turn < turns; turn += 1) {
      const at_s = (this.#now_ns + (period_ms - answer_ms) * 1e6 - begin_ns) / 1e9;
      const asked_A = over(asks_A, at_s);
      this.#current_A = over(delivers_A ?? asked_A, at_s);
      this.#voltage_V = over(voltage_V, at_s);
      const says = over(charger, at_s);
      const asks = {
        vehicle: over(vehicle, at_s),
        targetCurrent_A: asked_A,
        targetVoltage_V: over(target_V, at_s),
      };
      const words = requestWords(asks);
      const request = {
        ...requestBody(this.protocol, 'CurrentDemand', words),
        ...over(more, at_s),
      };
      const answer = this.#answer('CurrentDemand', {
        charger: says,
        code: says.code ?? 'OK',
        presentVoltage_V: this.#voltage_V,
        presentCurrent_A: this.#current_A,
      });
      this.exchange('CurrentDemand', request, answer, {
        pause_ms: period_ms - answer_ms,
        answer_ms,
      });
    }
    return this;
  }

  /** The vehicle asks for 0 A and the charger comes down, 200 A/s unless told, until the current is gone. */
  rampDown({
    fall_A_per_s = 200,
    ...says
  }: { fall_A_per_s?: number; vehicle?: VehicleStatus; charger?: ChargerStatus } = {}): this {
    const from_A = this.#current_A;
    const delivers_A = (at_s: number) => Math.max(0, from_A - fall_A_per_s * (at_s + 0.1));
    const seconds = Math.ceil((from_A / fall_A_per_s) * 5) / 5 + 0.2;
    return this.demand({ seconds, asks_A: 0, delivers_A, voltage_V: this.#voltage_V, ...says });
  }

  /** PowerDelivery to stop, the current ramped down first unless `atOnce`. */
  stop({ atOnce = false, ...turn }: Turn & { atOnce?: boolean } = {}): this {
    if (!atOnce && this.#current_A > 0) this.rampDown();
    this.#current_A = 0;
    return this.#powerDelivery('Stop', {
      charger: { status: 'EVSE_NotReady' },
      ...turn,
    });
  }

  /** One exchange for each voltage the charger reports at the inlet. */
  weldingDetection(
    reports_V: number[] = [45, 20, 5],
    { vehicle = {}, charger = {}, pause_ms = 400 }: Turn = {},
  ): this {
    for (const voltage_V of reports_V) {
      this.#turn(
        'WeldingDetection',
        { vehicle: { ready: false, ...vehicle } },
        {
          charger: { status: 'EVSE_NotReady', ...charger },
          code: charger.code ?? 'OK',
          presentVoltage_V: voltage_V,
        },
        { pause_ms },
      );
    }
    return this;
  }

  /** SessionStop, to terminate or (ISO 15118-2) to pause. */
  sessionStop(how: 'Terminate' | 'Pause' = 'Terminate', code = 'OK'): this {
    return this.#turn('SessionStop', { ending: how }, { code });
  }

  /** SessionStop, and the vehicle closes the connection. */
  end(how: 'Terminate' | 'Pause' = 'Terminate'): this {
    return this.sessionStop(how).close();
  }

  close(state: 'closed' | 'reset' = 'closed', from: Side = 'vehicle'): this {
    this.wait(50);
    return this.#link(state, `${from} ended the connection`, from);
  }

  /** A gap in the recording: bytes of this connection are missing here. */
  gap(from: Side = 'charger'): this {
    return this.#link('gap', `bytes of the ${from} are missing`, from);
  }

  /** One request with its answer. */
  exchange(
    name: string,
    request: JsonObject,
    answer: JsonObject,
    { pause_ms = 60, answer_ms = 40 }: Turn = {},
  ): this {
    return this.wait(pause_ms).request(name, request).wait(answer_ms).answer(name, answer);
  }

  request(name: string, message: JsonObject): this {
    const sessionId = this.#named ? this.#options.sessionId : '00';
    return this.message('vehicle', `${name}Req`, message, sessionId);
  }

  answer(name: string, message: JsonObject): this {
    this.#named = true;
    return this.message('charger', `${name}Res`, message, this.#options.sessionId);
  }

  message(from: Side, name: string, message: JsonObject, sessionId: string): this {
    return this.#push({
      kind: 'message',
      from,
      name,
      message,
      protocol: this.protocol,
      header: { SessionID: sessionId },
      ...this.#addresses(from),
    });
  }

  wait(ms: number): this {
    this.#now_ns += Math.round(ms * 1e6);
    return this;
  }

  /** What another recorder sees at this moment: no frame of the capture. */
  seen(seen: Seen): this {
    this.observations.push({ ...seen, at_ns: this.#now_ns } as Observation);
    return this;
  }

  pilot(state: 'A' | 'B' | 'C' | 'D' | 'E' | 'F', pwm = true): this {
    return this.seen({ kind: 'pilot', state, pwm });
  }

  contactor(state: 'open' | 'closed', side: Side = 'vehicle'): this {
    return this.seen({ kind: 'contactor', side, state });
  }

  meter(place: 'output' | 'inlet' | 'battery', voltage_V: number): this {
    return this.seen({ kind: 'voltage', place, voltage_V });
  }

  ammeter(current_A: number): this {
    return this.seen({ kind: 'current', current_A });
  }

  lock(state: 'locked' | 'unlocked'): this {
    return this.seen({ kind: 'lock', state });
  }

  alarm(side: Side, alarm: 'none' | 'stop asked' | 'fault' | 'emergency' | 'crash'): this {
    return this.seen({ kind: 'alarm', side, alarm });
  }

  cells(lowest_V: number, highest_V: number): this {
    return this.seen({ kind: 'cells', lowest_V, highest_V });
  }

  cellTemperature(temperature_C: number): this {
    return this.seen({ kind: 'temperature', place: 'cell', temperature_C });
  }

  #powerDelivery(progress: 'Start' | 'Stop' | 'Renegotiate', turn: Turn): this {
    const { vehicle = {}, charger = {} } = turn;
    return this.#turn(
      'PowerDelivery',
      { vehicle, progress, complete: progress === 'Stop' },
      { charger, code: charger.code ?? 'OK' },
      { answer_ms: 90, ...turn },
    );
  }

  /** One exchange in words; what is not said is as usual. */
  #turn(
    name: string,
    asks: Partial<RequestWords>,
    says: Partial<AnswerWords>,
    times: Turn = {},
  ): this {
    const request = requestBody(this.protocol, name, requestWords(asks))!;
    return this.exchange(name, request, this.#answer(name, says), times);
  }

  #answer(name: string, says: Partial<AnswerWords>): JsonObject {
    return answerBody(this.protocol, name, answerWords(says))!;
  }

  #protocolHandshake(): void {
    const name = 'supportedAppProtocol';
    const both = [
      ['vehicle', `${name}Req`, requestBody(this.protocol, name, requestWords())!],
      ['charger', `${name}Res`, this.#answer(name, { code: 'OK_SuccessfulNegotiation' })],
    ] as const;
    for (const [from, message, body] of both) {
      this.wait(30);
      this.#push({
        kind: 'message',
        from,
        name: message,
        message: body,
        protocol: 'app-protocol',
        ...this.#addresses(from),
      } as Untimed);
    }
  }

  #addresses(from: Side): { link?: string; sender?: string; receiver?: string } {
    const { unlinked, link, vehicleAddress, chargerAddress } = this.#options;
    if (unlinked) return {};
    return from === 'vehicle'
      ? { link, sender: vehicleAddress, receiver: chargerAddress }
      : { link, sender: chargerAddress, receiver: vehicleAddress };
  }

  #link(state: 'opened' | 'closed' | 'reset' | 'gap', says: string, from?: Side): this {
    const { link, vehicleAddress, chargerAddress } = this.#options;
    const ends = state === 'opened' ? { vehicleAddress, chargerAddress } : {};
    const who = from === undefined ? {} : { from };
    return this.#push({ kind: 'link', link, state, says, ...ends, ...who });
  }

  #push(observation: Untimed): this {
    this.observations.push({
      ...observation,
      at_ns: this.#now_ns,
      frame: this.#frame,
    } as Observation);
    this.#frame += 1;
    return this;
  }
}

type Without<T, K extends string> = T extends unknown ? Omit<T, K> : never;
type Untimed = Without<Observation, 'at_ns' | 'frame'>;
/** An observation of another recorder, before its time is known. */
export type Seen = Without<Exclude<Observation, { kind: 'message' | 'link' }>, 'at_ns'>;

function over<T extends number | object>(value: Over<T>, at_s: number): T {
  return typeof value === 'function' ? value(at_s) : value;
}

/** A whole session in which both sides do everything right. */
export function cleanDialogue(protocol: DialogueProtocol, options: DialogueOptions = {}): Dialogue {
  return dialogue(protocol, options)
    .handshake()
    .cableCheck()
    .preCharge()
    .start()
    .demand()
    .stop()
    .weldingDetection()
    .end();
}

/** A current that falls from `from_A` at a slope, from `from_s` on, to nothing. */
export const falling =
  (from_A: number, fall_A_per_s: number, from_s = 0) =>
  (at_s: number): number =>
    Math.max(0, from_A - fall_A_per_s * Math.max(0, at_s - from_s));

/** A session up to energy transfer: 180 A for `seconds`, a request every 200 ms, answered 25 ms later. */
export function charging(
  protocol: DialogueProtocol,
  options: DialogueOptions & { seconds?: number } = {},
): Dialogue {
  const { seconds = 1, ...others } = options;
  return dialogue(protocol, others)
    .handshake()
    .cableCheck()
    .preCharge()
    .start()
    .demand({ seconds });
}
