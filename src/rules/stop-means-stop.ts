import { dutyTable, fall_s, type DutyKind } from '../facts/duty-table.ts';
import { endOf, type RunningDuty } from '../facts/duties.ts';
import type { Confidence } from '../facts/figures.ts';
import type { Duty, Facts } from '../facts/vocabulary.ts';
import type { Side } from '../trace/observation.ts';
import { holds, unknown, type Judgement, type Rule, type Scene, type Telling } from './rule.ts';
import { amperes, capital, inFrame, seconds, volts } from './words.ts';

const failed = (state: Duty): boolean => state === 'ignored' || state === 'late';

function judge(_before: Facts, now: Facts): Judgement[] {
  if (now.vehicleStop === 'none' && now.chargerStop === 'none') return [];
  const sides: [Side, Duty][] = [
    ['vehicle', now.vehicleStop],
    ['charger', now.chargerStop],
  ];
  const owners = sides.filter(([, state]) => failed(state)).map(([side]) => side);
  if (owners.length > 0) return [{ outcome: 'broken', part: 'stop', owners }];
  const doubtful = sides.filter(([, state]) => state === 'doubtful').map(([side]) => side);
  if (doubtful.length > 0) return [{ outcome: 'doubtful', part: 'stop', owners: doubtful }];
  if (sides.some(([, state]) => state === 'unobserved')) return [unknown('stop')];
  if (sides.some(([, state]) => state === 'met')) return [holds('stop')];
  return [];
}

function tell(judgement: Judgement, { extractor, reading }: Scene): Telling {
  const wanted: Duty[] = judgement.outcome === 'doubtful' ? ['doubtful'] : ['ignored', 'late'];
  const duty = extractor.duties.running.find(
    (one) => wanted.includes(one.vehicle) || wanted.includes(one.charger),
  )!;
  const row = dutyTable[duty.kind];
  const start = `${capital(duty.trigger)}${inFrame(duty.armedFrame)}`;
  const since = seconds(reading.at_ns - duty.armed_ns - duty.delay_ns);
  const failures = judgement.owners.map((side) => failure(side, duty));
  const due_ns = duty.armed_ns + duty.delay_ns + dueAfter_ns(judgement, duty);
  return {
    says: `${start}, and ${since} later ${failures.join(' and ')}.`,
    seen: `${since} after the trigger: ${failures.join('; ')}`,
    allowed: judgement.owners.map((side) => obligation(side, duty)).join('; '),
    evidence: judgement.owners.includes('vehicle')
      ? 'reported'
      : (extractor.electrical[row.quantity === 'current' ? 'current' : 'output']?.evidence ??
        'reported'),
    confidence: sureness(judgement, row.endConfidence),
    clause: row.clause,
    deadline: { armedFrame: duty.armedFrame, due_ns },
  };
}

/** A side that did not react at all has broken its duty whatever the rough figure for its end. */
function sureness(judgement: Judgement, end: Confidence): Confidence {
  return judgement.outcome === 'broken' && end === 'from memory, low' ? 'from memory' : end;
}

/** The deadline that ran out first for the sides that failed it. */
function dueAfter_ns(judgement: Judgement, duty: RunningDuty): number {
  const row = dutyTable[duty.kind];
  const due = judgement.owners.map((side) => {
    const own = row[side]!;
    return duty[side] === 'ignored' ? Math.round(own.sign_s * 1e9) : endOf(own, duty);
  });
  return Math.min(...due);
}

function failure(side: Side, duty: RunningDuty): string {
  if (side === 'charger') {
    const amount = dutyTable[duty.kind].quantity === 'current' ? amperes : volts;
    const before = duty.output === null ? '' : `, ${amount(duty.output.value)} before`;
    const now = amount(duty.lastOutput ?? 0);
    return duty.charger === 'ignored'
      ? `the charger still stood at ${now}${before}`
      : `the charger had come down to ${now} only${before}`;
  }
  const asked = amperes(duty.lastAsked_A ?? 0);
  return duty.vehicle === 'ignored'
    ? `the vehicle still asked for ${asked}`
    : `the vehicle still asked for ${asked} instead of sending PowerDeliveryReq to stop`;
}

const obligations: Record<DutyKind, string> = {
  'stop notice':
    'vehicle: after the announced delay and 0.25 s it asks for less, and sends PowerDeliveryReq to stop',
  'charger shutdown': 'vehicle: within 0.25 s it asks for less, and sends PowerDeliveryReq to stop',
  emergency: 'vehicle: its next request is a stop or asks 0 A',
  'isolation fault': 'vehicle: its next request is a stop or asks 0 A',
  'vehicle fault': '',
  'request of 0 A': '',
  'vehicle stop': '',
  'failed answer': 'vehicle: its next message is a stop, SessionStopReq or none',
  'link closed': '',
  'pilot left C': '',
  'contactor opened': '',
  'approach withdrawn': '',
};

function obligation(side: Side, duty: RunningDuty): string {
  const row = dutyTable[duty.kind];
  const own = row[side]!;
  const end = seconds(endOf(own, duty));
  if (side === 'vehicle') {
    return own.fallingEnd ? `${obligations[duty.kind]} within ${end}` : obligations[duty.kind];
  }
  const slope = own.fallingEnd ? ` (${own.end_s} s + ${fallWords(duty)} at 100 A/s)` : '';
  if (row.quantity === 'voltage') return `charger: output at most 60 V within ${end}`;
  const sign = own.sign_s < own.end_s || own.fallingEnd ? `lower within ${own.sign_s} s, ` : '';
  return `charger: current ${sign}at most 5 A within ${end}${slope}`;
}

const fallWords = (duty: RunningDuty): string => `${fall_s(duty.output?.value ?? 0).toFixed(2)} s`;

export const stopMeansStop: Rule = {
  id: 'stop-means-stop',
  class: 'safety',
  says: 'After a stop, a fault or a withdrawn consent the first sign and the end come within their deadlines.',
  owners: ['vehicle', 'charger'],
  clause: 'DIN SPEC 70121, 9.6; ISO 15118-2, 8.8; IEC 61851-23, Annex CC, shutdown',
  needs: 'current and requests after the trigger, sampled closer than the deadline',
  figures: [...new Set(Object.values(dutyTable).flatMap((row) => row.figures))],
  followsFrom: ['stop-means-stop', 'silence-is-no'],
  witness:
    'EVSENotification StopCharging stands for three seconds and EVTargetCurrent stays at 180 A.',
  judge,
  tell,
};
