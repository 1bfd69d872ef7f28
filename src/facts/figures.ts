// Every number that turns a measurement into a fact, once, with where it comes from. `from memory, low` figures are
// known only roughly: a breach that rests on one of them alone is told as suspected.

/** How sure a figure is. `project default`: our own choice where the standards are silent. */
export type Confidence =
  'confirmed' | 'from memory' | 'from memory, low' | 'project default' | 'derived';

export interface Figure {
  readonly name: string;
  readonly value: number;
  readonly unit: string;
  readonly source: string;
  readonly confidence: Confidence;
}

function figure(
  name: string,
  value: number,
  unit: string,
  source: string,
  confidence: Confidence,
): Figure {
  return Object.freeze({ name, value, unit, source, confidence });
}

const ANNEX_CC = 'IEC 61851-23, Annex CC (System C)';
const OUTPUT_QUALITY = 'IEC 61851-23:2014, 101.2.1';
const OURS = 'handfast';

export const liveVoltage_V = figure(
  'highest voltage that counts as safe to touch',
  60,
  'V',
  'ISO 6469-3 class B boundary; IEC 61851-23 connector lock',
  'confirmed',
);

export const closingGate_V = figure(
  'largest difference between output and battery when the contactor closes',
  20,
  'V',
  `${ANNEX_CC}, pre-charge; value quoted in EP 4140800 A1`,
  'confirmed',
);

export const preChargeCurrent_A = figure(
  'largest current during pre-charge',
  2,
  'A',
  `${ANNEX_CC}, pre-charge`,
  'from memory',
);

export const openingCurrentNormal_A = figure(
  'largest current at opening in a normal stop',
  1,
  'A',
  `${ANNEX_CC}, normal shutdown`,
  'from memory, low',
);

export const openingCurrentError_A = figure(
  'largest current at opening in an error stop',
  5,
  'A',
  `${ANNEX_CC}, error shutdown`,
  'from memory, low',
);

export const currentTolerance_A = figure(
  'current tolerance up to 50 A',
  2.5,
  'A',
  OUTPUT_QUALITY,
  'from memory',
);

export const currentToleranceShare = figure(
  'current tolerance above 50 A',
  0.05,
  'of the request',
  OUTPUT_QUALITY,
  'from memory',
);

export const voltageToleranceShare = figure(
  'voltage tolerance',
  0.05,
  'of the request',
  OUTPUT_QUALITY,
  'from memory',
);

export const reportedVoltageError_V = figure(
  'accuracy of a voltage the charger reports',
  5,
  'V',
  OUTPUT_QUALITY,
  'from memory, low',
);

export const reportedCurrentErrorShare = figure(
  'accuracy of a current the charger reports',
  0.015,
  'of the reading',
  OUTPUT_QUALITY,
  'from memory, low',
);

export const reportedCurrentErrorFloor_A = figure(
  'smallest error of a current the charger reports',
  0.5,
  'A',
  OUTPUT_QUALITY,
  'from memory, low',
);

export const demandFollow_A_per_s = figure(
  'slowest allowed change of current after a new request',
  20,
  'A/s',
  OUTPUT_QUALITY,
  'from memory',
);

export const demandWindow_s = figure(
  'time within which a change of up to 20 A is followed',
  1,
  's',
  OUTPUT_QUALITY,
  'from memory',
);

export const highestCurrent_A = figure(
  'largest current taken to have been asked where the recording does not show it',
  500,
  'A',
  OURS,
  'project default',
);

export const stopFall_A_per_s = figure(
  'slowest allowed fall of current in a stop',
  100,
  'A/s',
  `${OUTPUT_QUALITY} and ${ANNEX_CC}, normal shutdown`,
  'from memory',
);

export const stopNoticeGrace_s = figure(
  "time after a stop notice before the vehicle's next request must ask less",
  0.25,
  's',
  OURS,
  'project default',
);

export const stopNoticeEnd_s = figure(
  'time after a stop notice for PowerDeliveryReq Stop, beside I / 100 A/s',
  1,
  's',
  OURS,
  'project default',
);

export const vehicleFaultSign_s = figure(
  "time within which current falls after the vehicle's fault, not-ready or request of 0 A",
  0.5,
  's',
  OURS,
  'project default',
);

export const emergencyEnd_s = figure(
  'time within which current is at most 5 A after an emergency',
  1,
  's',
  `${ANNEX_CC}, emergency shutdown`,
  'from memory, low',
);

export const failedEnd_s = figure(
  'time within which current is at most 5 A after a FAILED answer or a closed link',
  1,
  's',
  OURS,
  'project default',
);

export const pilotLossEnd_s = figure(
  'time within which current is below 5 A after the pilot leaves C or D',
  0.03,
  's',
  `${ANNEX_CC}, loss of control pilot`,
  'from memory, low',
);

export const deadOutput_s = figure(
  'time within which the output is at most 60 V after opening',
  1,
  's',
  'IEC 61851-23, 7.2.3.2',
  'from memory',
);

export const silenceWhileFlowing_s = figure(
  'longest silence of the peer while current flows',
  1,
  's',
  OURS,
  'project default',
);

export const crashOpens_s = figure(
  'time within which a crash signal opens the pack',
  0.1,
  's',
  OURS,
  'project default',
);

const ISOLATION = 'IEC 61851-23, general part and Annex CC (System C)';

export const isolationFault_ohm_per_V = figure(
  'highest isolation resistance that is a fault: power must not start, and must stop',
  100,
  'ohm/V',
  `${ISOLATION}; 100 ohm/V confirmed as the industry's minimum`,
  'from memory',
);

export const isolationWarning_ohm_per_V = figure(
  'highest isolation resistance that is a warning: power may go on',
  500,
  'ohm/V',
  ISOLATION,
  'from memory',
);
