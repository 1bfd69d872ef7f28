// Enumerations: DIN SPEC 70121 and ISO 15118-2 schemas (from memory).
import { describe, expect, it } from 'vitest';
import {
  createEventReader,
  FACT_VALUES,
  factsOf,
  type V2gEvent,
} from '../../../src/protocols/system-c/event.ts';
import type { JsonObject, MessageObservation } from '../../../src/trace/observation.ts';

function observation(
  name: string,
  message: JsonObject,
  id: string | null = 'A1',
): MessageObservation {
  const from = name.endsWith('Req') ? 'vehicle' : 'charger';
  const base = { kind: 'message', at_ns: 0, from, name, message, protocol: 'iso15118-2' } as const;
  return id === null ? base : { ...base, header: { SessionID: id } };
}

const readOne = (name: string, message: JsonObject): V2gEvent | null =>
  createEventReader()(observation(name, message));

const chargerStatus = (status: JsonObject): JsonObject => ({
  ResponseCode: 'OK',
  EVSEProcessing: 'Finished',
  DC_EVSEStatus: {
    EVSEStatusCode: 'EVSE_Ready',
    NotificationMaxDelay: 0,
    EVSENotification: 'None',
    ...status,
  },
});

describe('a message as an event', () => {
  it.each<[string, string, JsonObject, JsonObject]>([
    ['DIN true is start', 'PowerDeliveryReq', { ReadyToChargeState: true }, { progress: 'start' }],
    ['DIN false is stop', 'PowerDeliveryReq', { ReadyToChargeState: false }, { progress: 'stop' }],
    [
      '-2 Renegotiate',
      'PowerDeliveryReq',
      { ChargeProgress: 'Renegotiate' },
      { progress: 'renegotiate' },
    ],
    [
      'nested vehicle status',
      'PowerDeliveryReq',
      {
        ChargeProgress: 'Start',
        DC_EVPowerDeliveryParameter: { DC_EVStatus: { EVReady: true, EVErrorCode: 'NO_ERROR' } },
      },
      { ready: 'yes', error: 'none' },
    ],
    [
      'parameters carry the status',
      'ChargeParameterDiscoveryReq',
      {
        DC_EVChargeParameter: {
          DC_EVStatus: { EVReady: false, EVErrorCode: 'FAILED_EVRESSMalfunction' },
        },
      },
      { ready: 'no', error: 'fault' },
    ],
    [
      'NoData says nothing',
      'CableCheckReq',
      { DC_EVStatus: { EVReady: true, EVErrorCode: 'NoData' } },
      { error: 'unknown' },
    ],
    [
      'DIN Safe is valid',
      'CableCheckRes',
      chargerStatus({ EVSEIsolationStatus: 'Safe' }),
      { isolation: 'valid', processing: 'finished', code: 'ok' },
    ],
    [
      '-2 Valid is valid',
      'CableCheckRes',
      chargerStatus({ EVSEIsolationStatus: 'Valid' }),
      { isolation: 'valid' },
    ],
    [
      'No_IMD is no monitor',
      'CableCheckRes',
      chargerStatus({ EVSEIsolationStatus: 'No_IMD' }),
      { isolation: 'no monitor' },
    ],
    [
      'an absent isolation is unknown',
      'CableCheckRes',
      chargerStatus({}),
      { isolation: 'unknown' },
    ],
    [
      'stop at once',
      'CurrentDemandRes',
      chargerStatus({ EVSENotification: 'StopCharging' }),
      { notification: 'stop now' },
    ],
    [
      'stop with time',
      'CurrentDemandRes',
      chargerStatus({ EVSENotification: 'StopCharging', NotificationMaxDelay: 300 }),
      { notification: 'stop later' },
    ],
    [
      'reserved status',
      'CurrentDemandRes',
      chargerStatus({ EVSEStatusCode: 'Reserved_8' }),
      { status: 'other' },
    ],
    [
      'an answer that is no DC status',
      'PowerDeliveryRes',
      { ResponseCode: 'OK', AC_EVSEStatus: {} },
      { status: 'unknown' },
    ],
    [
      'old session joined is ok',
      'SessionSetupRes',
      { ResponseCode: 'OK_OldSessionJoined' },
      { code: 'ok', session: 'this' },
    ],
    [
      'handshake answer',
      'supportedAppProtocolRes',
      { ResponseCode: 'Failed_NoNegotiation' },
      { code: 'failed' },
    ],
    [
      'sequence error',
      'PreChargeRes',
      { ResponseCode: 'FAILED_SequenceError' },
      { code: 'sequence error' },
    ],
    [
      '0 A asked',
      'CurrentDemandReq',
      { EVTargetCurrent: { Multiplier: -1, Unit: 'A', Value: 0 } },
      { demand: 'none' },
    ],
    [
      'current asked',
      'CurrentDemandReq',
      { EVTargetCurrent: { Multiplier: 0, Unit: 'A', Value: 3 } },
      { demand: 'some' },
    ],
    ['a pause', 'SessionStopReq', { ChargingSession: 'Pause' }, { ending: 'pause' }],
    ['DIN has no pause', 'SessionStopReq', {}, { ending: 'terminate' }],
  ])('%s', (_, name, message, facts) => {
    expect(readOne(name, message)).toMatchObject({ type: name, ...facts });
  });

  it('gives only facts and values of the vocabulary, whatever the message holds', () => {
    const odd: JsonObject[] = [
      {},
      { EVSEProcessing: 'constructor', ChargeProgress: 'toString', ResponseCode: '' },
      { ResponseCode: 7, DC_EVSEStatus: [], DC_EVStatus: 'x' },
      { EVTargetCurrent: null },
    ];
    for (const name of [
      'CurrentDemandReq',
      'CurrentDemandRes',
      'PowerDeliveryReq',
      'CableCheckRes',
    ]) {
      for (const message of odd) {
        const { type, ...facts } = readOne(name, message)!;
        expect(type).toBe(name);
        expect(Object.keys(facts)).toEqual(factsOf(name));
        for (const [fact, value] of Object.entries(facts)) {
          const values: readonly string[] = FACT_VALUES[fact as keyof typeof FACT_VALUES];
          expect([...values, 'unknown']).toContain(value);
        }
      }
    }
  });

  it('is the same object for equal messages', () => {
    const read = createEventReader();
    const message = chargerStatus({});
    expect(read(observation('CurrentDemandRes', message))).toBe(
      read(observation('CurrentDemandRes', { ...message, EVSEPresentVoltage: 7 })),
    );
  });

  it('tells this session from another by the id the charger gave', () => {
    const read = createEventReader();
    const session = (name: string, id: string): string | undefined =>
      read(observation(name, {}, id))?.session;
    expect(session('SessionSetupReq', '0000000000000000')).toBe('new');
    expect(session('SessionSetupRes', 'AB01')).toBe('this');
    expect(session('ServiceDiscoveryReq', 'AB01')).toBe('this');
    expect(session('ServiceDiscoveryReq', 'AB02')).toBe('foreign');
    expect(session('SessionSetupReq', 'AB01')).toBe('old');
  });

  it('takes the first id seen as this session’s when it joins midway', () => {
    const read = createEventReader();
    expect(read(observation('CurrentDemandReq', {}, 'AB01'))?.session).toBe('this');
    expect(read(observation('CurrentDemandRes', {}, 'AB02'))?.session).toBe('foreign');
    expect(read(observation('CurrentDemandRes', {}, null))?.session).toBe('unknown');
  });

  it('leaves what is no V2G message alone', () => {
    expect(readOne('CM_SLAC_MATCH.CNF', {})).toBeNull();
  });
});
