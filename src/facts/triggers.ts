import type { Trigger } from './duties.ts';
import { leftReady } from './pilot.ts';
import type { Reading } from './reading.ts';
import type { Act } from './vocabulary.ts';

/** A stop notice that stands: when its NotificationMaxDelay runs out. */
export interface Notice {
  due_ns: number;
  delay_s: number;
  frame: number | null;
}

/**
 * Everything in one reading that obliges a side to stop, while either side's consent to power, once given by both,
 * stands.
 * `isolationPassed`: isolation stood at valid or warning before this reading.
 */
export function* stopTriggers(
  reading: Reading,
  act: Act | null,
  notice: Notice | null,
  isolationPassed: boolean,
): Iterable<Trigger> {
  if (reading.link === 'closed') yield now('link closed', 'the link closed');
  if (reading.from === 'charger' && reading.request === false) {
    yield* chargerTriggers(reading, act, notice, isolationPassed);
  }
  if (reading.from === 'vehicle' && reading.request === true) yield* vehicleTriggers(reading, act);
  yield* observedTriggers(reading, isolationPassed);
}

function* chargerTriggers(
  reading: Reading,
  act: Act | null,
  notice: Notice | null,
  isolationPassed: boolean,
): Iterable<Trigger> {
  const emergency = reading.status === 'emergency' || reading.status === 'malfunction';
  const fault = reading.isolationStatus === 'fault' ? 'an isolation fault' : undefined;
  const said = [emergency ? reading.statusCode : undefined, fault].filter(
    (one) => one !== undefined,
  );
  if (said.length > 0) {
    const kind = fault === undefined ? 'emergency' : 'isolation fault';
    yield now(kind, `the charger reported ${said.join(' and ')}`);
  }
  if (reading.ok === false) yield now('failed answer', `the charger answered ${reading.code}`);
  // At a stop EVSE_NotReady is as it should be; a message without an act is one of energy transfer (MeteringReceiptRes).
  const delivers = act === 'power' || act === 'demand' || act === null;
  const notReady = reading.status === 'not ready' && delivers;
  if (reading.status === 'shutdown' || notReady) {
    yield now('charger shutdown', `the charger reported ${reading.statusCode}`);
  }
  if (isolationPassed && reading.isolationStatus === 'invalid') {
    yield now('charger shutdown', 'the charger reported isolation Invalid after the test');
  }
  if (notice !== null && reading.notice?.kind === 'stop') {
    const delay = notice.delay_s === 0 ? 'at once' : `within ${notice.delay_s} s`;
    yield {
      kind: 'stop notice',
      trigger: `the charger asked with StopCharging to stop ${delay}`,
      delay_s: notice.delay_s,
    };
  }
}

function* vehicleTriggers(reading: Reading, act: Act | null): Iterable<Trigger> {
  if (typeof reading.error === 'string') {
    yield now('vehicle fault', `the vehicle reported ${reading.error}`);
  } else if (reading.ready === false) {
    yield now('vehicle fault', 'the vehicle sent EVReady false');
  } else if (reading.complete === true) {
    yield now('vehicle fault', 'the vehicle sent ChargingComplete true');
  } else if (act === 'stop' || act === 'renegotiate' || act === 'end') {
    yield now('vehicle stop', `the vehicle sent ${reading.name} to stop`);
  } else if (act === 'demand' && reading.targetCurrent_A === 0) {
    yield now('request of 0 A', 'the vehicle asked for 0 A');
  }
}

function* observedTriggers(reading: Reading, isolationPassed: boolean): Iterable<Trigger> {
  const { observed: seen, pilot } = reading;
  if (pilot !== undefined && leftReady(pilot.state)) {
    yield now('pilot left C', `the pilot went to ${pilot.state}`);
  } else if (pilot?.pwm === false) {
    yield now('charger shutdown', 'the charger turned its PWM off');
  }
  if (isolationPassed && reading.isolationClass === 'fault') {
    yield now('isolation fault', 'a meter saw an isolation fault');
  }
  if (seen?.kind === 'alarm' && seen.alarm !== 'none') {
    const softly = seen.alarm === 'stop asked' ? 'charger shutdown' : 'emergency';
    const kind = seen.side === 'charger' ? softly : 'vehicle fault';
    yield now(kind, `${seen.side} alarm: ${seen.alarm}`);
  }
}

const now = (kind: Trigger['kind'], trigger: string): Trigger => ({ kind, trigger, delay_s: 0 });
