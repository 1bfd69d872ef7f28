// One observation in words that no protocol owns. src/protocols turns messages into readings; readings of other
// recorders (pilot, meters, contactors) come from observed.ts.
import type { Observation, Side } from '../trace/observation.ts';
import type { EvidenceKind } from './evidence.ts';
import type { IsolationClass } from './isolation-class.ts';
import type { PilotReading } from './pilot.ts';
import type { Act } from './vocabulary.ts';

export interface Limits {
  voltage_V?: number;
  current_A?: number;
  power_W?: number;
}

export interface Reading {
  at_ns: number;
  frame: number | null;
  from: Side | null;
  /** Name of the message or kind of the observation. */
  name: string;
  evidence: EvidenceKind;

  request?: boolean;
  act?: Act;
  /** The response accepts (any OK code); false with a FAILED code, which `code` names. */
  ok?: boolean;
  code?: string;
  processing?: 'ongoing' | 'finished';
  session?: 'this' | 'foreign';
  sessionId?: string;

  ready?: boolean;
  /** The vehicle's error code, null for NO_ERROR; absent when it says NoData. */
  error?: string | null;
  complete?: boolean;
  status?: 'ready' | 'not ready' | 'shutdown' | 'emergency' | 'malfunction' | 'testing' | 'other';
  statusCode?: string;
  notice?: { kind: 'none' | 'stop' | 'renegotiate'; delay_s: number };
  isolationStatus?: 'invalid' | 'valid' | 'warning' | 'fault' | 'none';

  targetVoltage_V?: number;
  targetCurrent_A?: number;
  presentVoltage_V?: number;
  presentCurrent_A?: number;
  /** Limits of the sender. */
  limits?: Limits;
  stateOfCharge_percent?: number;

  /** The link ended (closed or reset), or bytes of it are missing. */
  link?: 'closed' | 'gap';
  /** What a recorder other than the capture saw. */
  observed?: Observation;
  /** What the pilot it saw comes to. */
  pilot?: PilotReading;
  /** Class of the isolation resistance it measured, where the charger's rated voltage is known. */
  isolationClass?: IsolationClass;
}
