// Timers and performance times of System C: DIN SPEC 70121:2014 clause 9.6, ISO 15118-2:2014 clause 8.7 (Table 109).
// A message timeout is the vehicle's wait for an answer; a performance time is the charger's bound for giving it.
import type { Confidence } from '../../facts/figures.ts';

export interface Duration {
  readonly ms: number;
  readonly confidence: Confidence;
  readonly source: string;
}

export type Timing = { readonly [name: string]: Duration };

export function duration(seconds: number, confidence: Confidence, source: string): Duration {
  return Object.freeze({ ms: Math.round(seconds * 1000), confidence, source });
}

/** Name of the vehicle's wait for the answer to a message, by its name without Req. */
export const messageTimeout = (message: string): string => `V2G_EVCC_Msg_Timeout_${message}`;

/** Name of the charger's time to answer a message, by its name without Req. */
export const answerTime = (message: string): string => `V2G_SECC_Msg_Performance_Time_${message}`;

const CLAUSE = 'DIN SPEC 70121 9.6; ISO 15118-2 8.7';
const TABLE_109 = 'ISO 15118-2 Table 109; DIN SPEC 70121 9.6';

/** Timeout and performance time, in seconds, of each message. */
export function messageTimes(
  rows: Readonly<Record<string, readonly [number, number]>>,
  confidence: Confidence,
): Timing {
  const timing: Record<string, Duration> = {};
  for (const [message, [timeout_s, performance_s]] of Object.entries(rows)) {
    timing[messageTimeout(message)] = duration(timeout_s, confidence, TABLE_109);
    timing[answerTime(message)] = duration(performance_s, confidence, TABLE_109);
  }
  return timing;
}

/** What both protocols share; each protocol's own table adds its differences. */
export const sharedTiming: Timing = Object.freeze({
  ...messageTimes(
    {
      supportedAppProtocol: [2, 1.5],
      SessionSetup: [2, 1.5],
      ServiceDiscovery: [2, 1.5],
      ChargeParameterDiscovery: [2, 1.5],
      CableCheck: [2, 1.5],
      PreCharge: [2, 1.5],
      CurrentDemand: [0.25, 0.025],
      WeldingDetection: [2, 1.5],
      SessionStop: [2, 1.5],
    },
    'from memory',
  ),
  V2G_EVCC_CommunicationSetup_Timeout: duration(20, 'from memory', CLAUSE),
  V2G_SECC_CommunicationSetup_Performance_Time: duration(18, 'from memory', CLAUSE),
  V2G_EVCC_Sequence_Performance_Time: duration(40, 'from memory', CLAUSE),
  V2G_SECC_Sequence_Timeout: duration(60, 'from memory', CLAUSE),
  V2G_EVCC_CableCheck_Timeout: duration(40, 'confirmed', 'V2G-DC-380; V2G2-702'),
  V2G_SECC_CableCheck_Performance_Time: duration(38, 'from memory', CLAUSE),
  V2G_EVCC_PreCharge_Timeout: duration(7, 'from memory', CLAUSE),
  V2G_SECC_PreCharge_Performance_Time: duration(5, 'from memory', CLAUSE),
  V2G_SECC_CPState_Detection_Timeout: duration(1.5, 'from memory', CLAUSE),
  V2G_SECC_CPOscillator_Retain_Time: duration(1.5, 'from memory', CLAUSE),
  /** The charger lets the vehicle close the connection first. */
  V2G_SECC_TCP_Close_Wait: duration(5, 'from memory', CLAUSE),
  /** The protocol's own wait of 60 s is no bound while current flows. */
  EVSE_Silence_While_Flowing: duration(1, 'project default', 'handfast'),
  /**
   * How long a vehicle may still demand current after it was asked to stop at once: 1 s and the fall of 500 A at
   * 100 A/s, because a machine does not know the current. The rules judge by the real one.
   */
  EV_Stop_Request_End: duration(6, 'project default', 'handfast; slope IEC 61851-23 101.2.1'),
});
