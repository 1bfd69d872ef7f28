// Properties of the verdict over random legal sessions: no false breach, whatever is missing from the recording, and a
// result that is whole whatever is wrong with it.
import { readFileSync } from 'node:fs';
import { Ajv2020 } from 'ajv/dist/2020.js';
import * as fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { FileResult, SessionResult } from '../../src/rules/result.ts';
import type { Json, JsonObject, Observation } from '../../src/trace/observation.ts';
import { beside, drop, gapAt, insert, messageAt } from '../support/alter.ts';
import { dialogue, type Dialogue } from '../support/dialogue.ts';
import type { ChargerStatus } from '../../src/protocols/system-c/body-parts.ts';
import { brief, judged, replay, safety } from '../support/judged.ts';

const RUNS = 40;

/** Legal ways to go on from energy transfer, or never to come to it (system C, 4.1, 4.5). */
const endings = [
  'the vehicle has enough',
  'no check for welds',
  'the charger asks to stop',
  'the charger has an emergency',
  'the vehicle has a fault',
  'the charger refuses',
  'the connection breaks',
  'renegotiation',
  'left in the cable check',
  'left in pre-charge',
] as const;
type Ending = (typeof endings)[number];

interface Plan {
  protocol: 'din70121' | 'iso15118-2';
  battery_V: number;
  reserve_V: number;
  asks_A: number;
  rounds: number;
  apart_V: number;
  steps: number;
  seconds: number;
  period_ms: number;
  answer_ms: number;
  fall_A_per_s: number;
  reports_V: number[];
  warning: boolean;
  readyLate: boolean;
  undercut: number;
  ending: Ending;
}

/** Every choice within what the standards allow (system C, 4.3, 6.3, 6.4). */
const plans: fc.Arbitrary<Plan> = fc.record({
  protocol: fc.constantFrom('din70121', 'iso15118-2'),
  battery_V: fc.integer({ min: 200, max: 900 }),
  reserve_V: fc.integer({ min: 20, max: 90 }),
  asks_A: fc.integer({ min: 5, max: 400 }),
  rounds: fc.integer({ min: 1, max: 20 }),
  // Closing gate: less than 20 V apart; upwards the charger's own tolerance of 5 % is narrower below 400 V.
  apart_V: fc.double({ min: -19.8, max: 9.8, noNaN: true }),
  steps: fc.integer({ min: 1, max: 8 }),
  seconds: fc.double({ min: 0.4, max: 3, noNaN: true }),
  period_ms: fc.integer({ min: 110, max: 250 }),
  answer_ms: fc.integer({ min: 5, max: 100 }),
  // At least 100 A/s in a stop; a sign within 0.5 s of the request for 0 A.
  fall_A_per_s: fc.integer({ min: 110, max: 400 }),
  reports_V: fc.array(fc.integer({ min: 0, max: 60 }), { maxLength: 4 }),
  warning: fc.boolean(),
  readyLate: fc.boolean(),
  /** Share of the request the charger delivers. */
  undercut: fc.double({ min: 0.5, max: 1, noNaN: true }),
  ending: fc.constantFrom(...endings),
});

function cleanOf(plan: Plan): Observation[] {
  const { protocol, battery_V, apart_V, steps } = plan;
  const limit_V = battery_V + plan.reserve_V;
  const charger = plan.warning ? { isolation: 'Warning' } : {};
  // EVReady false before PowerDelivery is common practice and withdraws nothing (system C, 10.1).
  const vehicle = plan.readyLate ? { ready: false } : {};
  const last_V = battery_V + apart_V;
  const reports_V = Array.from({ length: steps }, (_, i) => (last_V * (i + 1)) / steps);
  const given = dialogue(protocol, {
    battery_V,
    vehicleLimits: { voltage_V: limit_V, current_A: 400 },
    chargerLimits: { voltage_V: 1000, current_A: 400, power_W: 400_000 },
  }).handshake({ vehicle });
  if (plan.ending === 'left in the cable check') {
    return given.cableCheck({ rounds: plan.rounds, vehicle, finish: false }).end().observations;
  }
  given.cableCheck({ rounds: plan.rounds, vehicle, charger });
  given.preCharge({ reports_V, vehicle, charger });
  if (plan.ending === 'left in pre-charge') return given.stop().end().observations;
  transfer(given.start({ charger }), plan, charger);
  return ended(given, plan, charger).observations;
}

function transfer(given: Dialogue, plan: Plan, charger: ChargerStatus): Dialogue {
  const { asks_A, seconds, period_ms, answer_ms } = plan;
  const delivers_A = asks_A * plan.undercut;
  const voltage_V = plan.battery_V + plan.reserve_V / 2;
  return given.demand({ seconds, asks_A, delivers_A, voltage_V, period_ms, answer_ms, charger });
}

function ended(given: Dialogue, plan: Plan, charger: ChargerStatus): Dialogue {
  const { fall_A_per_s, ending, asks_A } = plan;
  const half_A = (asks_A * plan.undercut) / 2;
  const once = { seconds: 0.2, asks_A, delivers_A: half_A, voltage_V: plan.battery_V };
  const emergency = { ...charger, status: 'EVSE_EmergencyShutdown' };
  if (ending === 'the charger asks to stop') {
    given.demand({ ...once, charger: { ...charger, notification: 'StopCharging', delay_s: 0 } });
  }
  if (ending === 'the charger has an emergency') {
    given
      .demand({ ...once, charger: emergency })
      .rampDown({ fall_A_per_s: 600, charger: emergency });
  }
  if (ending === 'the vehicle has a fault') {
    given.rampDown({ fall_A_per_s, charger, vehicle: { error: 'FAILED_EVRESSMalfunction' } });
  }
  if (ending === 'the charger refuses') {
    return given.demand({ ...once, charger: { code: 'FAILED' } }).close();
  }
  if (ending === 'the connection breaks') return given.close('reset');
  if (ending === 'renegotiation' && plan.protocol === 'iso15118-2') {
    given.rampDown({ fall_A_per_s, charger }).renegotiate({ charger }).parameters({ charger });
    transfer(given.start({ charger }), plan, charger);
  }
  given
    .rampDown({ fall_A_per_s, charger })
    .stop({ charger: { ...charger, status: 'EVSE_NotReady' } });
  if (ending !== 'no check for welds') given.weldingDetection(plan.reports_V, { charger });
  return given.end();
}

const check = <T>(arbitrary: fc.Arbitrary<T>, test: (value: T) => Promise<void>) =>
  fc.assert(fc.asyncProperty(arbitrary, test), { numRuns: RUNS, endOnFailure: true });

describe('legal sessions', () => {
  it('hold, and no safety rule says anything', () =>
    check(plans, async (plan) => {
      const session = await judged(cleanOf(plan));
      expect(brief(session)).toEqual([]);
      // Whether a contactor closed again after a renegotiation without pre-charge is not in the messages.
      const open = plan.ending === 'renegotiation' && session.verdict === 'inconclusive';
      expect(session.verdict).toBe(open ? 'inconclusive' : 'holds');
      expect(session.reasons.join(' ')).toMatch(open ? /^gate-before-close not observed/ : /^$/);
    }));

  it('give no breach when the recording ends early', () =>
    check(fc.tuple(plans, fc.nat()), async ([plan, cut]) => {
      const observations = cleanOf(plan);
      const kept = observations.slice(0, 1 + (cut % observations.length));
      const { sessions } = await replay(kept);
      for (const session of sessions) expect(brief(session)).toEqual([]);
    }));

  it('give no breach when the recording joins late', () =>
    check(fc.tuple(plans, fc.nat()), async ([plan, cut]) => {
      const observations = cleanOf(plan);
      const { sessions } = await replay(observations.slice(cut % observations.length));
      for (const session of sessions) expect(brief(session)).toEqual([]);
    }));

  it('give no breach when messages are missing and the recording says so', () =>
    check(fc.tuple(plans, fc.nat(), fc.integer({ min: 1, max: 6 })), async (given) => {
      const [plan, where, count] = given;
      const observations = cleanOf(plan);
      const place = where % observations.length;
      const at_ns = observations[place]!.at_ns;
      const lost = observations.slice(place, place + count);
      // The link's own opening and close are no bytes: a gap does not take them.
      const places = lost.flatMap((one, index) => (one.kind === 'message' ? [place + index] : []));
      const rest = insert(observations, place, gapAt(at_ns));
      const { sessions } = await replay(drop(rest, ...places.map((one) => one + 1)));
      for (const session of sessions) {
        expect(brief(session)).toEqual([]);
      }
    }));
});

/** What meters, a pilot log and a lock log of the same session would hold. */
function recorded(observations: Observation[], offset_ms: number): Observation[] {
  const at = (name: string, nth = 0) =>
    observations.filter((one) => one.kind === 'message' && one.name === name).at(nth)?.at_ns;
  const end_ns = observations.at(-1)!.at_ns;
  const test_ns = at('CableCheckReq')!;
  const start_ns = at('CurrentDemandReq') === undefined ? undefined : at('PowerDeliveryReq')!;
  const more: Observation[] = [
    { kind: 'pilot', state: 'B', pwm: true, at_ns: 0 },
    { kind: 'lock', state: 'locked', at_ns: test_ns - 3e8 },
    { kind: 'pilot', state: 'C', pwm: true, at_ns: test_ns - 2e8 },
    { kind: 'contactor', side: 'vehicle', state: 'open', at_ns: test_ns - 1e8 },
  ];
  for (const one of observations) {
    if (one.kind !== 'message' || one.name !== 'CurrentDemandRes') continue;
    const { Value: deciamperes } = one.message['EVSEPresentCurrent'] as { Value: number };
    const { Value: decivolts } = one.message['EVSEPresentVoltage'] as { Value: number };
    const at_ns = one.at_ns + offset_ms * 1e6;
    more.push({ kind: 'current', current_A: deciamperes / 10, at_ns });
    more.push({ kind: 'voltage', place: 'output', voltage_V: decivolts / 10, at_ns });
  }
  const off_ns = end_ns + 1e8;
  more.push({ kind: 'current', current_A: 0, at_ns: off_ns });
  if (start_ns !== undefined) {
    const side = 'vehicle';
    more.push({ kind: 'contactor', side, state: 'closed', at_ns: start_ns - 20e6 });
    more.push({ kind: 'contactor', side, state: 'open', at_ns: off_ns + 50e6 });
  }
  for (const place of ['output', 'inlet'] as const) {
    more.push({ kind: 'voltage', place, voltage_V: 20, at_ns: off_ns + 1e8 });
  }
  more.push({ kind: 'pilot', state: 'B', pwm: true, at_ns: off_ns + 1e8 });
  more.push({ kind: 'lock', state: 'unlocked', at_ns: off_ns + 1e9 });
  return beside(observations, ...more);
}

describe('other recorders', () => {
  it('that saw the same session change nothing of a session that holds', () =>
    check(fc.tuple(plans, fc.integer({ min: 1, max: 40 })), async ([plan, offset_ms]) => {
      const session = await judged(recorded(cleanOf(plan), offset_ms));
      expect([session.verdict, brief(session), session.reasons]).toEqual(['holds', [], []]);
    }));

  it('of a recording with a gap, joined late and cut early, give no breach', () =>
    check(fc.tuple(plans, fc.nat(), fc.nat(), fc.nat()), async ([plan, from, where, to]) => {
      const whole = recorded(cleanOf(plan), 7);
      const begin = from % whole.length;
      const some = whole.slice(begin, begin + 1 + (to % (whole.length - begin)));
      const place = where % some.length;
      const lost = some[place]!.kind === 'message' ? drop(some, place) : some;
      const { sessions } = await replay(insert(lost, place, gapAt(some[place]!.at_ns)));
      for (const session of sessions) expect(brief(session)).toEqual([]);
    }));
});

const schema = JSON.parse(readFileSync('src/rules/result.schema.json', 'utf8')) as JsonObject;
const validate = new Ajv2020({ strict: true, strictTypes: false }).compile(schema);

type Mutation = (observations: Observation[], place: number, value: Json) => Observation[];

const oddities: Json[] = [
  null,
  true,
  false,
  0,
  -1,
  1e300,
  '',
  'Valid',
  'Fault',
  'OK',
  'FAILED',
  'NO_ERROR',
  'EVSE_Malfunction',
  [],
  {},
  { Multiplier: 3, Unit: 'V', Value: 32767 },
  { Multiplier: -400, Unit: 'A', Value: 1 },
  { Multiplier: 0, Value: -500 },
  { SessionID: 7 },
];

/** Sets the nth leaf or branch of a message, counted over its whole tree. */
function changed(message: JsonObject, nth: number, value: Json): JsonObject {
  const paths: string[][] = [];
  const walk = (node: Json, path: string[]) => {
    if (path.length > 0) paths.push(path);
    if (node === null || typeof node !== 'object' || Array.isArray(node)) return;
    for (const [key, child] of Object.entries(node)) walk(child, [...path, key]);
  };
  walk(message, []);
  if (paths.length === 0) return { odd: value };
  const copy = structuredClone(message);
  const path = paths[nth % paths.length]!;
  let node = copy;
  for (const key of path.slice(0, -1)) node = node[key] as JsonObject;
  node[path.at(-1)!] = value;
  return copy;
}

const mutations: Record<string, Mutation> = {
  drop: (list, place) => drop(list, place),
  twice: (list, place) => insert(list, place, list[place]!),
  swapped: (list, place) => {
    const other = (place + 1) % list.length;
    return list.with(place, list[other]!).with(other, list[place]!);
  },
  late: (list, place) =>
    list.map((one, index) => (index < place ? one : { ...one, at_ns: one.at_ns + 3e9 })),
  early: (list, place) => list.with(place, { ...list[place]!, at_ns: 0 }),
  field: (list, place, value) => {
    if (list[place]!.kind !== 'message') return list;
    const one = messageAt(list, place);
    return list.with(place, { ...one, message: changed(one.message, place * 7 + 3, value) });
  },
  session: (list, place, value) =>
    list[place]!.kind === 'message'
      ? list.with(place, { ...messageAt(list, place), header: { SessionID: value } })
      : list,
  name: (list, place) =>
    list[place]!.kind === 'message'
      ? list.with(place, { ...messageAt(list, place), name: 'PreChargeReq' })
      : list,
};

/** What must be true of every result, whatever the input. */
function expectWhole(result: FileResult, observations: Observation[]): void {
  const whole = { schemaVersion: 1, verdict: result.verdict, files: [result] };
  expect(validate(JSON.parse(JSON.stringify(whole))) ? null : validate.errors).toBeNull();
  const frames = new Set(observations.map(({ frame }) => frame));
  for (const session of result.sessions) {
    expectFindings(session, frames);
    const breaches = safety(session).filter(({ status }) => status === 'breach');
    expect(session.verdict === 'broken').toBe(breaches.length > 0);
    if (session.verdict === 'inconclusive') expect(session.reasons).not.toEqual([]);
  }
}

function expectFindings({ findings }: SessionResult, frames: Set<number | undefined>): void {
  const before: string[] = [];
  for (const { id, frame, causedBy, window, owners, rule } of findings) {
    expect(before).not.toContain(id);
    if (frame !== null) expect(frames.has(frame), `frame ${frame} of ${rule}`).toBe(true);
    if (causedBy !== null) expect(before, `cause of ${rule}`).toContain(causedBy);
    expect(owners.length).toBeGreaterThan(0);
    for (const line of window) if (line.frame !== null) expect(frames.has(line.frame)).toBe(true);
    before.push(id);
  }
}

describe('a single mutation', () => {
  it.each(Object.entries(mutations))('"%s" gives a whole result', (_name, mutate) =>
    check(fc.tuple(plans, fc.nat(), fc.constantFrom(...oddities)), async (given) => {
      const [plan, where, value] = given;
      const observations = cleanOf(plan);
      const mutated = mutate(observations, where % observations.length, value);
      expectWhole(await replay(mutated), mutated);
    }),
  );
});
