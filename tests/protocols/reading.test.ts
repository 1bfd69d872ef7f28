// A message as a reading: the fields of DIN SPEC 70121 and ISO 15118-2 in words neither owns. Names and enumerations:
// system C, 4.1, 4.7 and 4.8 (schema order, from memory).
import { describe, expect, it } from 'vitest';
import { protocols } from '../../src/protocols/index.ts';
import { digest } from '../../src/protocols/system-c/digest.ts';
import { readMessage } from '../../src/protocols/system-c/reading.ts';
import type { JsonObject, MessageObservation } from '../../src/trace/observation.ts';
import {
  evStatus,
  evseStatus,
  physical,
  type VehicleStatus,
} from '../../src/protocols/system-c/body-parts.ts';
import { requestBody } from '../../src/protocols/system-c/request-bodies.ts';
import { requestWords } from '../support/words.ts';

type Protocol = 'din70121' | 'iso15118-2';

function read(name: string, message: JsonObject, protocol: Protocol = 'iso15118-2', id?: string) {
  const from = name.endsWith('Req') ? 'vehicle' : 'charger';
  const one: MessageObservation = {
    kind: 'message',
    from,
    name,
    message,
    protocol,
    at_ns: 5e9,
    frame: 7,
  };
  if (id !== undefined) one.header = { SessionID: id };
  return readMessage(one, protocols[protocol].dialect);
}

describe('what a request asks for', () => {
  it.each([
    ['CableCheckReq', {}, 'test'],
    ['PreChargeReq', {}, 'approach'],
    ['CurrentDemandReq', {}, 'demand'],
    ['WeldingDetectionReq', {}, 'weld check'],
    ['SessionStopReq', {}, 'end'],
    ['ChargeParameterDiscoveryReq', {}, 'setup'],
    ['PowerDeliveryReq', { ChargeProgress: 'Start' }, 'power'],
    ['PowerDeliveryReq', { ChargeProgress: 'Stop' }, 'stop'],
    ['PowerDeliveryReq', { ChargeProgress: 'Renegotiate' }, 'renegotiate'],
    ['PowerDeliveryReq', { ChargeProgress: 'Later' }, undefined],
    ['PowerDeliveryReq', {}, undefined],
    ['NobodyKnowsReq', {}, undefined],
  ])('ISO 15118-2: %s %j: %s', (name, message, act) => {
    expect(read(name, message).act).toBe(act);
  });

  it.each([
    [true, 'power'],
    [false, 'stop'],
    ['true', undefined],
  ])('DIN SPEC 70121: ReadyToChargeState %j: %s', (ReadyToChargeState, act) => {
    expect(read('PowerDeliveryReq', { ReadyToChargeState }, 'din70121').act).toBe(act);
  });
});

describe('what an answer says', () => {
  it.each([
    ['OK', true],
    ['OK_NewSessionEstablished', true],
    ['OK_OldSessionJoined', true],
    ['OK_CertificateExpiresSoon', true],
    ['OK_SuccessfulNegotiation', true],
    ['FAILED', false],
    ['FAILED_SequenceError', false],
    ['FAILED_UnknownSession', false],
    ['Failed_NoNegotiation', false],
  ])('%s: accepted %s', (ResponseCode, ok) => {
    expect(read('CableCheckRes', { ResponseCode }).ok).toBe(ok);
  });

  it.each([
    ['din70121', 'Safe', 'valid'],
    ['iso15118-2', 'Valid', 'valid'],
    ['din70121', 'Warning', 'warning'],
    ['iso15118-2', 'Fault', 'fault'],
    ['din70121', 'Invalid', 'invalid'],
    ['iso15118-2', 'No_IMD', 'none'],
    // Each protocol's own word only: the other's is no passed test.
    ['din70121', 'Valid', 'none'],
    ['iso15118-2', 'Safe', 'none'],
  ] as const)('%s: isolation %s is %s (4.7)', (protocol, isolation, expected) => {
    const message = { DC_EVSEStatus: evseStatus(protocol, { isolation }) };
    expect(read('CableCheckRes', message, protocol).isolationStatus).toBe(expected);
  });

  it.each([
    ['EVSE_NotReady', 'not ready'],
    ['EVSE_Ready', 'ready'],
    ['EVSE_Shutdown', 'shutdown'],
    ['EVSE_UtilityInterruptEvent', 'other'],
    ['EVSE_IsolationMonitoringActive', 'testing'],
    ['EVSE_EmergencyShutdown', 'emergency'],
    ['EVSE_Malfunction', 'malfunction'],
    ['Reserved_8', 'other'],
  ])('status %s: %s', (status, expected) => {
    const message = { DC_EVSEStatus: evseStatus('iso15118-2', { status }) };
    expect(read('CurrentDemandRes', message)).toMatchObject({
      status: expected,
      statusCode: status,
    });
  });

  it.each([
    ['StopCharging', 0, { kind: 'stop', delay_s: 0 }],
    ['StopCharging', 65_535, { kind: 'stop', delay_s: 65_535 }],
    ['ReNegotiation', 5, { kind: 'renegotiate', delay_s: 5 }],
    ['None', 0, { kind: 'none', delay_s: 0 }],
    ['StopCharging', -1, { kind: 'stop', delay_s: 0 }],
    ['StopCharging', 1e300, { kind: 'stop', delay_s: 0 }],
  ] as const)('notification %s within %d s', (notification, delay_s, expected) => {
    const message = { DC_EVSEStatus: evseStatus('iso15118-2', { notification, delay_s }) };
    expect(read('CurrentDemandRes', message).notice).toEqual(expected);
  });

  it.each([
    ['Finished', 'finished'],
    ['Ongoing', 'ongoing'],
    ['Ongoing_WaitingForCustomerInteraction', 'ongoing'],
  ])('EVSEProcessing %s', (EVSEProcessing, expected) => {
    expect(read('AuthorizationRes', { ResponseCode: 'OK', EVSEProcessing }).processing).toBe(
      expected,
    );
  });
});

describe('numbers', () => {
  it('of a demand', () => {
    const reading = read('CurrentDemandReq', {
      DC_EVStatus: evStatus({ stateOfCharge_percent: 45 }),
      EVTargetCurrent: physical(180, 'A'),
      EVTargetVoltage: physical(410, 'V'),
      EVMaximumCurrentLimit: physical(200, 'A'),
      ChargingComplete: false,
    });
    expect(reading).toMatchObject({
      targetCurrent_A: 180,
      targetVoltage_V: 410,
      limits: { current_A: 200 },
      stateOfCharge_percent: 45,
      ready: true,
      error: null,
      complete: false,
    });
  });

  it('of limits, wherever the message keeps them', () => {
    const nested = { DC_EVChargeParameter: { EVMaximumVoltageLimit: physical(420, 'V') } };
    expect(read('ChargeParameterDiscoveryReq', nested).limits).toEqual({ voltage_V: 420 });
    const own = { EVSEMaximumPowerLimit: physical(50_000, 'W') };
    expect(read('CurrentDemandRes', own).limits).toEqual({ power_W: 50_000 });
  });

  it('ChargingComplete of PowerDelivery is no withdrawal', () => {
    expect(read('PowerDeliveryReq', stopping({})).complete).toBeUndefined();
  });
});

describe('what is absent stays absent', () => {
  it.each(['CurrentDemandReq', 'CurrentDemandRes', 'CableCheckRes', 'PowerDeliveryReq'])(
    '%s',
    (name) => {
      const { ready, error, ok, isolationStatus, status, notice, limits, presentCurrent_A } = read(
        name,
        {},
      );
      const values = [ready, error, ok, isolationStatus, status, notice, limits, presentCurrent_A];
      expect(values.every((one) => one === undefined)).toBe(true);
    },
  );

  it('NoData is no error and no NO_ERROR', () => {
    expect(
      read('PreChargeReq', { DC_EVStatus: evStatus({ error: 'NoData' }) }).error,
    ).toBeUndefined();
  });

  it('damaged fields of every kind are read as absent', () => {
    for (const odd of [null, 7, 'x', [], { a: 1 }, true]) {
      const message = {
        DC_EVStatus: odd,
        DC_EVSEStatus: odd,
        EVTargetCurrent: odd,
        ResponseCode: odd,
      };
      expect(() => read('CurrentDemandReq', message)).not.toThrow();
      expect(() => read('CurrentDemandRes', message)).not.toThrow();
    }
  });
});

describe('SessionID', () => {
  it('is compared in upper case', () => {
    expect(read('CurrentDemandReq', {}, 'iso15118-2', 'a1b2c3d4e5f60708').sessionId).toBe(
      'A1B2C3D4E5F60708',
    );
  });
});

describe('digest: one line for a message', () => {
  it.each([
    [
      'CurrentDemandReq',
      {
        DC_EVStatus: evStatus({}),
        EVTargetCurrent: physical(180, 'A'),
        EVTargetVoltage: physical(410, 'V'),
      },
      'asks 180 A at 410 V · 24 %',
    ],
    [
      'CurrentDemandRes',
      {
        ResponseCode: 'OK',
        EVSEPresentVoltage: physical(362.5, 'V'),
        EVSEPresentCurrent: physical(178.2, 'A'),
        DC_EVSEStatus: evseStatus('iso15118-2', { notification: 'StopCharging', delay_s: 3 }),
      },
      'OK · 362.5 V · 178.2 A · isolation valid · StopCharging, within 3 s',
    ],
    ['PowerDeliveryReq', stopping({ ready: false }), 'stop · EVReady false'],
    [
      'CableCheckRes',
      {
        ResponseCode: 'OK',
        EVSEProcessing: 'Ongoing',
        DC_EVSEStatus: evseStatus('iso15118-2', {
          status: 'EVSE_IsolationMonitoringActive',
          isolation: 'Invalid',
        }),
      },
      'OK · Ongoing · EVSE_IsolationMonitoringActive · isolation invalid',
    ],
    [
      'PreChargeReq',
      { DC_EVStatus: evStatus({ error: 'FAILED_EVRESSMalfunction' }) },
      'FAILED_EVRESSMalfunction · 24 %',
    ],
    ['SessionStopReq', {}, ''],
  ])('%s', (name, message, line) => {
    expect(digest(read(name, message as JsonObject))).toBe(line);
  });

  it('names a foreign session', () => {
    const reading = read('CurrentDemandReq', {}, 'iso15118-2', '1122334455667788');
    reading.session = 'foreign';
    expect(digest(reading)).toBe('session 1122334455667788 (another)');
  });
});

function stopping(vehicle: VehicleStatus): JsonObject {
  const words = requestWords({ progress: 'Stop', complete: true, vehicle });
  return requestBody('iso15118-2', 'PowerDelivery', words)!;
}
