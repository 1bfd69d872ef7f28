// What both sides say in a session where nothing is special, for bodies in the standards' own words.
import type { AnswerWords } from '../../src/protocols/system-c/answer-bodies.ts';
import type { RequestWords } from '../../src/protocols/system-c/request-bodies.ts';

export function requestWords(words: Partial<RequestWords> = {}): RequestWords {
  return {
    vehicle: {},
    limits: { voltage_V: 420, current_A: 250 },
    targetVoltage_V: 352,
    targetCurrent_A: 1,
    complete: false,
    progress: 'Start',
    payment: 'ExternalPayment',
    ending: 'Terminate',
    vehicleId: '020000000001',
    sessionId: 'A1B2C3D4E5F60708',
    meter_Wh: 0,
    ...words,
  };
}

export function answerWords(words: Partial<AnswerWords> = {}): AnswerWords {
  return {
    code: 'OK',
    charger: {},
    processing: 'Finished',
    limits: { voltage_V: 500, current_A: 300, power_W: 150_000 },
    minimum: { voltage_V: 150, current_A: 1 },
    ripple_A: 1,
    presentVoltage_V: 0,
    presentCurrent_A: 0,
    reached: { voltage: false, current: false, power: false },
    receipt: false,
    chargerId: 'ZZSMFE0001',
    meter_Wh: 0,
    ...words,
  };
}
