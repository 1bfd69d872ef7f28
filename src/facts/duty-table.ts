// Which observation obliges whom to stop, by when the first sign must show and by when it must be over
// (System C: DIN SPEC 70121 9.6, ISO 15118-2 8.8, IEC 61851-23 Annex CC shutdown rows).
import {
  deadOutput_s,
  emergencyEnd_s,
  failedEnd_s,
  liveVoltage_V,
  openingCurrentError_A,
  pilotLossEnd_s,
  stopFall_A_per_s,
  stopNoticeEnd_s,
  stopNoticeGrace_s,
  vehicleFaultSign_s,
  type Confidence,
  type Figure,
} from './figures.ts';

export type DutyKind =
  | 'stop notice'
  | 'charger shutdown'
  | 'emergency'
  | 'isolation fault'
  | 'vehicle fault'
  | 'request of 0 A'
  | 'vehicle stop'
  | 'failed answer'
  | 'link closed'
  | 'pilot left C'
  | 'contactor opened'
  | 'approach withdrawn';

export interface DutyRow {
  clause: string;
  /** The vehicle must ask less, then stop. */
  vehicle: { sign_s: number; end_s: number; fallingEnd: boolean; mustStopAtOnce: boolean } | null;
  /** The charger's output must fall, then be dead. */
  charger: { sign_s: number; end_s: number; fallingEnd: boolean } | null;
  /** What must come down: the current to 5 A, or the output to 60 V. */
  quantity: 'current' | 'voltage';
  /** How sure the end is; a sign that never came is no matter of a figure. */
  endConfidence: Confidence;
  figures: Figure[];
}

const DIALOGUE = 'DIN SPEC 70121, 9.6; ISO 15118-2, 8.8';
const SHUTDOWN =
  'IEC 61851-23, Annex CC, emergency shutdown; DIN SPEC 70121, 9.6; ISO 15118-2, 8.8';

const notice: DutyRow = {
  clause: DIALOGUE,
  vehicle: {
    sign_s: stopNoticeGrace_s.value,
    end_s: stopNoticeEnd_s.value,
    fallingEnd: true,
    mustStopAtOnce: false,
  },
  charger: null,
  quantity: 'current',
  endConfidence: 'project default',
  figures: [stopNoticeGrace_s, stopNoticeEnd_s, stopFall_A_per_s],
};

const emergency: DutyRow = {
  clause: SHUTDOWN,
  vehicle: {
    sign_s: emergencyEnd_s.value,
    end_s: emergencyEnd_s.value,
    fallingEnd: false,
    mustStopAtOnce: true,
  },
  charger: { sign_s: emergencyEnd_s.value, end_s: emergencyEnd_s.value, fallingEnd: false },
  quantity: 'current',
  endConfidence: 'from memory, low',
  figures: [emergencyEnd_s, openingCurrentError_A],
};

const vehicleFault: DutyRow = {
  clause: DIALOGUE,
  vehicle: null,
  charger: { sign_s: vehicleFaultSign_s.value, end_s: vehicleFaultSign_s.value, fallingEnd: true },
  quantity: 'current',
  endConfidence: 'project default',
  figures: [vehicleFaultSign_s, stopFall_A_per_s, openingCurrentError_A],
};

const failed: DutyRow = {
  ...emergency,
  clause: DIALOGUE,
  vehicle: { ...emergency.vehicle!, sign_s: stopNoticeGrace_s.value, end_s: failedEnd_s.value },
  endConfidence: 'project default',
  figures: [failedEnd_s, openingCurrentError_A],
};

const deadOutput: DutyRow = {
  clause: 'IEC 61851-23, 7.2.3.2',
  vehicle: null,
  charger: { sign_s: deadOutput_s.value, end_s: deadOutput_s.value, fallingEnd: false },
  quantity: 'voltage',
  endConfidence: 'from memory',
  figures: [deadOutput_s, liveVoltage_V],
};

export const dutyTable: Readonly<Record<DutyKind, DutyRow>> = {
  'stop notice': notice,
  'charger shutdown': notice,
  emergency,
  'isolation fault': emergency,
  'vehicle fault': vehicleFault,
  'request of 0 A': vehicleFault,
  'vehicle stop': { ...vehicleFault, clause: `${SHUTDOWN}, normal shutdown` },
  'failed answer': failed,
  'link closed': { ...failed, vehicle: null },
  'pilot left C': {
    clause: 'IEC 61851-23, Annex CC, loss of control pilot; IEC 61851-1:2017, Table A.6',
    vehicle: null,
    charger: { sign_s: pilotLossEnd_s.value, end_s: pilotLossEnd_s.value, fallingEnd: false },
    quantity: 'current',
    endConfidence: 'from memory, low',
    figures: [pilotLossEnd_s, openingCurrentError_A],
  },
  'contactor opened': deadOutput,
  // A stop before power: the vehicle's contactor never closed.
  'approach withdrawn': deadOutput,
};

/** Time for a current to fall to nothing at the slowest slope allowed in a stop, in seconds. */
export const fall_s = (current_A: number): number =>
  Math.max(0, current_A) / stopFall_A_per_s.value;
