// Who gives and withdraws which consent: the table of system C, section 10.1 (derived from DIN SPEC 70121 9.6 and 9.7,
// ISO 15118-2 8.8 and IEC 61851-23 Annex CC), row by row.
import { describe, expect, it } from 'vitest';
import type { Consent } from '../../src/facts/vocabulary.ts';
import { physical, evStatus } from '../../src/protocols/system-c/body-parts.ts';
import { dialogue, type Dialogue } from '../support/dialogue.ts';
import { extractorAfter } from '../support/facts-after.ts';

const protocols = ['din70121', 'iso15118-2'] as const;

const setUp = (protocol: Dialogue['protocol']) => dialogue(protocol).handshake();
const tested = (protocol: Dialogue['protocol']) => setUp(protocol).cableCheck();
const near = (protocol: Dialogue['protocol']) => tested(protocol).preCharge();
const charging = (protocol: Dialogue['protocol']) => near(protocol).start().demand({ seconds: 1 });

function consents(given: Dialogue): { vehicle: Consent; charger: Consent } {
  const { vehicle, charger } = extractorAfter(given).consents;
  return { vehicle, charger };
}

const preChargeReq = (vehicle: object) => ({
  DC_EVStatus: evStatus(vehicle),
  EVTargetVoltage: physical(352, 'V'),
  EVTargetCurrent: physical(1, 'A'),
});

describe.each(protocols)('%s: given', (protocol) => {
  it('nothing, before CableCheckReq', () => {
    expect(consents(setUp(protocol))).toEqual({ vehicle: 'none', charger: 'none' });
  });

  it('test, by CableCheckReq and by CableCheckRes OK Ongoing', () => {
    const asked = setUp(protocol).request('CableCheck', { DC_EVStatus: evStatus({}) });
    expect(consents(asked)).toEqual({ vehicle: 'test', charger: 'none' });
    const going = setUp(protocol).cableCheck({ finish: false });
    expect(consents(going)).toEqual({ vehicle: 'test', charger: 'test' });
  });

  it.each([
    ['the good value', undefined, 'approach'],
    ['Warning', 'Warning', 'approach'],
    ['Invalid', 'Invalid', 'test'],
    ['Fault', 'Fault', 'withdrawn'],
    ['no status at all', null, 'unknown'],
  ] as const)('approach by the charger: Finished with %s', (_what, isolation, charger) => {
    const says = isolation === undefined ? {} : { isolation };
    expect(consents(setUp(protocol).cableCheck({ charger: says })).charger).toBe(charger);
  });

  it.each([
    ['NO_ERROR', {}, 'approach'],
    ['EVReady false, which is common practice before power', { ready: false }, 'approach'],
    ['NoData, which says nothing', { error: 'NoData' }, 'unknown'],
    ['an error', { error: 'FAILED_EVRESSMalfunction' }, 'withdrawn'],
  ] as const)('approach by the vehicle: PreChargeReq with %s', (_what, status, vehicle) => {
    const says = status as { ready?: boolean; error?: string };
    const error = says.error === 'NoData' ? { error: 'NoData' } : {};
    const before = dialogue(protocol).handshake({ vehicle: error }).cableCheck({ vehicle: error });
    expect(consents(before.request('PreCharge', preChargeReq(says))).vehicle).toBe(vehicle);
  });

  it.each([
    ['EVSE_Ready', 'EVSE_Ready', 'power'],
    ['EVSE_NotReady', 'EVSE_NotReady', 'withdrawn'],
    ['EVSE_Shutdown', 'EVSE_Shutdown', 'withdrawn'],
  ] as const)('power by the charger: PowerDeliveryRes OK with %s', (_what, status, charger) => {
    const given = consents(near(protocol).start({ charger: { status } }));
    expect(given).toEqual({ vehicle: 'power', charger });
  });

  it('power by nobody, when PowerDeliveryRes is FAILED', () => {
    const refused = near(protocol).start({ charger: { code: 'FAILED_PowerDeliveryNotApplied' } });
    expect(consents(refused).charger).toBe('withdrawn');
  });
});

type Change = (given: Dialogue) => Dialogue;
const one = { seconds: 0.2 };

const byVehicle: [string, Change][] = [
  ['PowerDeliveryReq to stop', (given) => given.stop({ atOnce: true })],
  ['EVReady false', (given) => given.demand({ ...one, vehicle: { ready: false } })],
  [
    'an error code other than NO_ERROR',
    (given) => given.demand({ ...one, vehicle: { error: 'FAILED_EVRESSMalfunction' } }),
  ],
  ['ChargingComplete true', (given) => given.demand({ ...one, more: { ChargingComplete: true } })],
  ['SessionStopReq', (given) => given.sessionStop()],
  ['pilot B', (given) => given.pilot('B')],
  ['pilot A', (given) => given.pilot('A')],
  ['the link closed', (given) => given.close()],
  ['the link reset', (given) => given.close('reset')],
];

const byCharger: [string, Change][] = [
  ['FAILED', (given) => given.demand({ ...one, charger: { code: 'FAILED' } })],
  [
    'FAILED_SequenceError',
    (given) => given.demand({ ...one, charger: { code: 'FAILED_SequenceError' } }),
  ],
  ...(
    ['EVSE_NotReady', 'EVSE_Shutdown', 'EVSE_EmergencyShutdown', 'EVSE_Malfunction'] as const
  ).map((status): [string, Change] => [
    status,
    (given) => given.demand({ ...one, charger: { status } }),
  ]),
  [
    'StopCharging once its delay of 1 s has passed',
    (given) =>
      given.demand({ seconds: 1.6, charger: { notification: 'StopCharging', delay_s: 1 } }),
  ],
  ['isolation Fault', (given) => given.demand({ ...one, charger: { isolation: 'Fault' } })],
  ['isolation Invalid', (given) => given.demand({ ...one, charger: { isolation: 'Invalid' } })],
  ['PWM off', (given) => given.pilot('C', false)],
  ['pilot E', (given) => given.pilot('E')],
  ['pilot F', (given) => given.pilot('F')],
  ['the link closed', (given) => given.close()],
];

describe.each(protocols)('%s: withdrawn from power', (protocol) => {
  it.each(byVehicle)('by the vehicle: %s', (_what, change) => {
    expect(consents(charging(protocol)).vehicle).toBe('power');
    expect(consents(change(charging(protocol))).vehicle).toBe('withdrawn');
  });

  it.each(byCharger)('by the charger: %s', (_what, change) => {
    expect(consents(charging(protocol)).charger).toBe('power');
    expect(consents(change(charging(protocol))).charger).toBe('withdrawn');
  });

  it.each([
    ['a notice whose delay still runs', { notification: 'StopCharging', delay_s: 60 }],
    ['isolation Warning', { isolation: 'Warning' }],
    ['EVSE_UtilityInterruptEvent', { status: 'EVSE_UtilityInterruptEvent' }],
    ['EVSE_IsolationMonitoringActive', { status: 'EVSE_IsolationMonitoringActive' }],
  ] as const)('by nobody: %s', (_what, charger) => {
    const given = charging(protocol).demand({ seconds: 1, charger });
    expect(consents(given)).toEqual({ vehicle: 'power', charger: 'power' });
  });

  it('by nobody: EVReady false before power', () => {
    const late = { vehicle: { ready: false } };
    const given = dialogue(protocol).handshake(late).cableCheck(late).preCharge(late).start();
    expect(consents(given)).toEqual({ vehicle: 'power', charger: 'power' });
  });

  it('by nobody: a stop notice taken back in time', () => {
    const given = charging(protocol)
      .demand({ ...one, charger: { notification: 'StopCharging', delay_s: 2 } })
      .demand({ seconds: 3 });
    expect(consents(given).charger).toBe('power');
  });
});

describe('the scope power only', () => {
  it('is withdrawn by Renegotiate, and given again by a new start (ISO 15118-2)', () => {
    const again = charging('iso15118-2').rampDown().renegotiate();
    expect(consents(again).vehicle).toBe('withdrawn');
    expect(consents(again.parameters().start()).vehicle).toBe('power');
  });

  it('never comes back after an emergency in the same session (P9)', () => {
    const emergency = { charger: { status: 'EVSE_EmergencyShutdown' } };
    const again = charging('iso15118-2')
      .demand({ ...one, ...emergency, delivers_A: 0 })
      .stop({ atOnce: true })
      .cableCheck()
      .preCharge()
      .start();
    expect(consents(again)).toEqual({ vehicle: 'withdrawn', charger: 'withdrawn' });
  });
});
