// The finite view of a session that every rule reads: a captured trace, a random run and an exhaustive search all
// end in these words. `unknown`: nothing seen says which.

export type Consent = 'none' | 'test' | 'approach' | 'power' | 'withdrawn' | 'unknown';

/**
 * What a duty to stop has come to. `late`: it reacted, but ended late; `doubtful`: late by a rough figure only;
 * `ignored`: no reaction at all; `unobserved`: no sample tells.
 */
export type Duty = 'none' | 'running' | 'met' | 'doubtful' | 'late' | 'ignored' | 'unobserved';

/** What a side asks for or grants with the message of this step; null in a step without such a message. */
export type Act =
  | 'setup'
  | 'test'
  | 'approach'
  | 'power'
  | 'demand'
  | 'stop'
  | 'renegotiate'
  | 'weld check'
  | 'end';

export interface Facts {
  plugged: 'no' | 'yes' | 'unknown';
  locked: 'no' | 'yes' | 'unknown';
  pilot: 'A' | 'B' | 'C' | 'D' | 'E' | 'F' | 'unknown';
  vehicleConsent: Consent;
  chargerConsent: Consent;
  isolation: 'untested' | 'testing' | 'valid' | 'warning' | 'fault' | 'unknown';
  outputVoltage: 'safe' | 'live' | 'unknown';
  inletVoltage: 'safe' | 'live' | 'unknown';
  /** The charger itself holds its output live: not the battery, through a contactor that may be closed. */
  outputDriven: 'no' | 'yes' | 'unknown';
  /** Voltages around the vehicle's contactor. `doubtful`: outside by less than the reporting error. */
  gate: 'outside' | 'doubtful' | 'inside' | 'unknown';
  vehicleContactor: 'open' | 'closed' | 'unknown';
  chargerContactor: 'open' | 'closed' | 'unknown';
  current: 'none' | 'idle' | 'low' | 'flowing' | 'reverse' | 'unknown';
  /** Reverse current within what the rough figures for accuracy leave open, or plainly beyond. */
  reverse: 'no' | 'slight' | 'plain';
  /** Output against both sides' latest limits, and against what was asked. `doubtful`: beyond a rough figure only. */
  limits: 'within' | 'doubtful' | 'over' | 'unknown';
  demand: 'within' | 'doubtful' | 'over' | 'unknown';
  cells: 'within' | 'over-voltage' | 'under-voltage' | 'too cold' | 'too hot' | 'unknown';
  link: 'fresh' | 'stale' | 'closed' | 'unknown';
  /** Whether the vehicle's last request asks for current. */
  asked: 'nothing' | 'current' | 'unknown';
  /** Who let the other wait past its timeout. */
  silent: 'nobody' | 'vehicle' | 'charger';
  vehicleAlarm: 'none' | 'stop asked' | 'fault' | 'emergency' | 'crash' | 'unknown';
  chargerAlarm: 'none' | 'stop asked' | 'fault' | 'emergency' | 'crash' | 'unknown';
  vehicleStop: Duty;
  chargerStop: Duty;
  crashDuty: Duty;
  /** Voltage at the inlet after the contactors should have opened. */
  weld: 'no' | 'falling' | 'stays' | 'unknown';
  weldTold: 'no' | 'yes';
  /** What the vehicle asks and the charger grants with the message of this step. */
  vehicleAct: Act | null;
  chargerAct: Act | null;
  /** The message of this step carries this session's id, or another. */
  session: 'this' | 'foreign' | null;
  /** On an OK response: the session its request named. */
  answers: 'this' | 'foreign' | null;
  /** Whether the session was seen from its start, so that what was not seen did not happen. */
  whole: boolean;
}

export const initialFacts: Readonly<Facts> = Object.freeze({
  plugged: 'unknown',
  locked: 'unknown',
  pilot: 'unknown',
  vehicleConsent: 'none',
  chargerConsent: 'none',
  isolation: 'untested',
  outputVoltage: 'unknown',
  inletVoltage: 'unknown',
  outputDriven: 'unknown',
  gate: 'unknown',
  vehicleContactor: 'unknown',
  chargerContactor: 'unknown',
  current: 'unknown',
  reverse: 'no',
  limits: 'unknown',
  demand: 'unknown',
  cells: 'unknown',
  link: 'fresh',
  asked: 'unknown',
  silent: 'nobody',
  vehicleAlarm: 'unknown',
  chargerAlarm: 'unknown',
  vehicleStop: 'none',
  chargerStop: 'none',
  crashDuty: 'none',
  weld: 'unknown',
  weldTold: 'no',
  vehicleAct: null,
  chargerAct: null,
  session: null,
  answers: null,
  whole: true,
});

/** Facts of a session that was joined in the middle: what came before is not known. */
export const joinedFacts: Readonly<Facts> = Object.freeze({
  ...initialFacts,
  vehicleConsent: 'unknown',
  chargerConsent: 'unknown',
  isolation: 'unknown',
  whole: false,
});

const consentRank: Record<Exclude<Consent, 'unknown'>, number> = {
  withdrawn: 0,
  none: 0,
  test: 1,
  approach: 2,
  power: 3,
};

export type Scope = 'test' | 'approach' | 'power';

/** Whether a consent covers a scope; null when it is not known. */
export function covers(consent: Consent, scope: Scope): boolean | null {
  return consent === 'unknown' ? null : consentRank[consent] >= consentRank[scope];
}
