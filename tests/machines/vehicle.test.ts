// The vehicle machine against the clauses it models. Sequences and timers: DIN SPEC 70121:2014 9.6 and 9.7,
// ISO 15118-2:2014 8.7 and 8.8 (figures from memory unless said; 40 s of cable check confirmed by V2G-DC-380).
import { describe, expect, it } from 'vitest';
import { checkMachine } from '../../src/machine/check.ts';
import { vehicle as din } from '../../machines/din70121/vehicle.ts';
import { vehicle as iso } from '../../machines/iso15118-2/vehicle.ts';
import { driveWords, play } from './play.ts';
import { vehicleUntil, type Stage } from './sessions.ts';

const both = [
  ['din70121', din],
  ['iso15118-2', iso],
] as const;
const ok = 'code=ok, session=this';
const well = 'status=ready, isolation=valid, notification=none';

describe.each(both)('vehicle of %s', (protocol, machine) => {
  const after = (stage: Stage, ...lines: string[]) =>
    play(machine, [...vehicleUntil(stage, protocol), ...lines]);

  it('keeps the convention', () => {
    expect(checkMachine(machine)).toEqual([]);
  });

  it('goes through a whole session, driving its hardware in the order of IEC 61851-23 Annex CC', () => {
    const { messages, drives, view } = after(
      'stopped',
      'choose.weld check',
      `WeldingDetectionRes ${ok}`,
      'choose.end',
      `SessionStopRes ${ok}`,
      'choose.open current=none',
      'choose.unlock inlet=safe',
    );
    expect(messages.slice(5)).toEqual([
      'ChargeParameterDiscoveryReq',
      'CableCheckReq',
      'PreChargeReq',
      'PowerDeliveryReq',
      'PowerDeliveryReq',
      'WeldingDetectionReq',
      'SessionStopReq',
    ]);
    expect(driveWords(drives)).toEqual([
      'lock locked',
      'pilot C',
      'contactors closed',
      'contactors open',
      'pilot B',
      'pilot B',
      'contactors open',
      'lock unlocked',
    ]);
    expect(view.says).toBe('has ended the session, unlocked');
  });

  it.each<[string, Stage, string[], string]>([
    // what, from, then, where it must be
    [
      'a FAILED answer',
      'parameters',
      ['choose.next', 'ChargeParameterDiscoveryRes code=failed, session=this'],
      'gives up',
    ],
    [
      'FAILED_SequenceError',
      'transfer',
      ['choose.next demand=some', 'CurrentDemandRes code=sequence error, session=this'],
      'gives up',
    ],
    [
      'FAILED_UnknownSession',
      'transfer',
      ['choose.next demand=some', 'CurrentDemandRes code=unknown session, session=this'],
      'gives up',
    ],
    [
      'an answer of another session',
      'transfer',
      ['choose.next demand=some', `CurrentDemandRes code=ok, session=foreign, ${well}`],
      'gives up',
    ],
    [
      'an answer to another request',
      'transfer',
      ['choose.next demand=some', `PreChargeRes ${ok}, ${well}`],
      'gives up',
    ],
    [
      'a failed handshake',
      'handshake',
      ['choose.next', 'supportedAppProtocolRes code=failed'],
      'gives up',
    ],
    [
      'a cable check finished without a passed test',
      'cable check',
      [
        'choose.next locked=yes',
        `CableCheckRes ${ok}, processing=finished, status=ready, isolation=invalid`,
      ],
      'gives up',
    ],
    [
      'a cable check that found a fault',
      'cable check',
      [
        'choose.next locked=yes',
        `CableCheckRes ${ok}, processing=finished, status=ready, isolation=fault`,
      ],
      'gives up',
    ],
    [
      'a test whose result is not told',
      'cable check',
      [
        'choose.next locked=yes',
        `CableCheckRes ${ok}, processing=finished, status=ready, isolation=unknown`,
      ],
      'gives up',
    ],
    [
      'a warning lets it go on',
      'cable check',
      [
        'choose.next locked=yes',
        `CableCheckRes ${ok}, processing=finished, status=ready, isolation=warning, notification=none`,
      ],
      'may send PreChargeReq',
    ],
    [
      'an emergency in pre-charge',
      'pre-charge',
      ['choose.next', `PreChargeRes ${ok}, status=emergency, isolation=valid`],
      'gives up',
    ],
    [
      'an emergency in the transfer',
      'transfer',
      ['choose.next demand=some', `CurrentDemandRes ${ok}, status=emergency, isolation=valid`],
      'must stop now',
    ],
    [
      'a malfunction in the transfer',
      'transfer',
      ['choose.next demand=some', `CurrentDemandRes ${ok}, status=malfunction, isolation=valid`],
      'must stop now',
    ],
    [
      'an isolation fault in the transfer',
      'transfer',
      ['choose.next demand=some', `CurrentDemandRes ${ok}, status=ready, isolation=fault`],
      'must stop now',
    ],
    [
      'power answered without EVSE_Ready',
      'power asked',
      [`PowerDeliveryRes ${ok}, status=not ready, isolation=valid, notification=none`],
      'power was not granted, must stop',
    ],
    [
      'a stop asked with time',
      'transfer',
      [
        'choose.next demand=some',
        `CurrentDemandRes ${ok}, status=ready, isolation=valid, notification=stop later`,
      ],
      'may send CurrentDemandReq',
    ],
    ['the connection closed', 'transfer', ['link.closed'], 'has ended the session'],
  ])('reacts to %s', (_, stage, lines, says) => {
    expect(after(stage, ...lines).view.says).toBe(says);
  });

  it.each<[string, Stage, string[]]>([
    ['V2G_EVCC_CommunicationSetup_Timeout', 'session', []],
    ['V2G_EVCC_Sequence_Performance_Time', 'services', []],
    ['V2G_EVCC_Msg_Timeout_SessionSetup', 'session', ['choose.next']],
    ['V2G_EVCC_Msg_Timeout_CableCheck', 'cable check', ['choose.next locked=yes']],
    [
      'V2G_EVCC_CableCheck_Timeout',
      'cable check',
      [
        'choose.next locked=yes',
        `CableCheckRes ${ok}, processing=ongoing, status=monitoring, isolation=invalid`,
      ],
    ],
    ['V2G_EVCC_PreCharge_Timeout', 'pre-charge', []],
    ['V2G_EVCC_Msg_Timeout_PowerDelivery', 'power asked', []],
    ['V2G_EVCC_Msg_Timeout_CurrentDemand', 'transfer', ['choose.next demand=some']],
    [
      'EV_Stop_Request_End',
      'transfer',
      [
        'choose.next demand=some',
        `CurrentDemandRes ${ok}, status=ready, isolation=valid, notification=stop now`,
      ],
    ],
    ['V2G_EVCC_Msg_Timeout_WeldingDetection', 'stopped', ['choose.weld check']],
  ])('gives up when %s runs out, in state B', (timer, stage, lines) => {
    const { view, drives } = after(stage, ...lines, `timer ${timer}`);
    expect(view.says).toBe('gives up');
    expect(driveWords(drives).at(-1)).toBe('pilot B');
  });

  it.each<Stage>([
    'services',
    'selection',
    'authorization',
    'parameters',
    'cable check',
    'tested',
    'pre-charge',
    'transfer',
    'stopped',
  ])('may end the session from %s', (stage) => {
    expect(after(stage, 'choose.end').last).toMatchObject({
      message: 'SessionStopReq',
      ending: 'terminate',
    });
  });

  it.each<Stage>(['cable check', 'tested', 'pre-charge', 'transfer'])(
    'may send PowerDelivery stop from %s',
    (stage) => {
      const { last, view } = after(stage, 'choose.stop');
      expect(last).toMatchObject({ message: 'PowerDeliveryReq', progress: 'stop' });
      expect(view.stage).toBe('shutdown');
    },
  );

  it('checks for welds as often as it likes', () => {
    const once = ['choose.weld check', `WeldingDetectionRes ${ok}`];
    const { messages } = after('stopped', ...once, ...once, ...once, 'choose.end');
    expect(messages.filter((name) => name === 'WeldingDetectionReq')).toHaveLength(3);
  });

  it('repeats the request while the charger says Ongoing', () => {
    const { last, view } = after(
      'parameters',
      'choose.next',
      `ChargeParameterDiscoveryRes ${ok}, processing=ongoing`,
      'choose.next',
    );
    expect(last?.message).toBe('ChargeParameterDiscoveryReq');
    expect(view.says).toBe('waits for ChargeParameterDiscoveryRes');
  });

  it('asks at most 0 A once it must stop', () => {
    const { last } = after(
      'transfer',
      'choose.next demand=some',
      `CurrentDemandRes ${ok}, status=emergency, isolation=valid`,
      'choose.next demand=some',
    );
    expect(last).toMatchObject({ message: 'CurrentDemandReq', demand: 'none' });
  });

  it('tells a fault of its own, then stops', () => {
    const told = after('transfer', 'sense.fault demand=some');
    expect(told.last).toMatchObject({ message: 'CurrentDemandReq', error: 'fault' });
    expect(told.view.stage).toBe('energy transfer');
  });

  it('closes nothing while the charger has taken its consent back', () => {
    const held = [
      'choose.next',
      `PreChargeRes ${ok}, status=not ready, isolation=valid, notification=none`,
    ];
    expect(() => after('pre-charge', ...held, 'choose.power gate=inside')).toThrow();
    // Its later word gives the consent back only with a new test.
    const again = [...held, 'choose.next inlet=safe', `PreChargeRes ${ok}, ${well}`];
    expect(() => after('pre-charge', ...again, 'choose.power gate=inside')).toThrow();
    expect(after('pre-charge', ...again, 'choose.next inlet=safe').last).toMatchObject({
      message: 'PreChargeReq',
    });
    expect(() => after('pre-charge', ...again, 'choose.next inlet=live')).toThrow();
  });

  it('opens no contactor on a flowing current, and unlocks no live inlet', () => {
    expect(() => after('transfer', 'link.closed', 'choose.open current=flowing')).toThrow();
    expect(() =>
      after('transfer', 'link.closed', 'choose.open current=low', 'choose.unlock inlet=live'),
    ).toThrow();
  });
});

function isoAfter(stage: Stage, ...lines: string[]) {
  return play(iso, [...vehicleUntil(stage, 'iso15118-2'), ...lines]);
}

function loopTimers(...lines: string[]): string[] {
  return isoAfter('authorization', ...lines).view.timers.map(({ name }) => name);
}

describe('what only ISO 15118-2 has', () => {
  const parameters = `ChargeParameterDiscoveryRes ${ok}, processing=finished, ${well}`;

  it('asks for service details as often as it likes', () => {
    const once = ['choose.details', `ServiceDetailRes ${ok}`];
    expect(isoAfter('selection', ...once, ...once, 'choose.next').last?.message).toBe(
      'PaymentServiceSelectionReq',
    );
  });

  it('pays by contract, with a certificate first', () => {
    const { messages } = isoAfter(
      'selection',
      'choose.contract',
      `PaymentServiceSelectionRes ${ok}`,
      'choose.install certificate',
      `CertificateInstallationRes ${ok}`,
      'choose.next',
      `PaymentDetailsRes ${ok}`,
      'choose.next',
    );
    expect(messages.slice(-4)).toEqual([
      'PaymentServiceSelectionReq',
      'CertificateInstallationReq',
      'PaymentDetailsReq',
      'AuthorizationReq',
    ]);
  });

  it('pauses', () => {
    expect(isoAfter('stopped', 'choose.pause').last).toMatchObject({ ending: 'pause' });
  });

  it('renegotiates with its contactors closed', () => {
    const { last, drives } = isoAfter(
      'transfer',
      'choose.renegotiate',
      `PowerDeliveryRes ${ok}, ${well}`,
      'choose.next',
      parameters,
      'choose.power',
    );
    expect(last).toMatchObject({ message: 'PowerDeliveryReq', progress: 'start' });
    expect(driveWords(drives)).not.toContain('contactors open');
  });

  it.each([
    ['choose.cable check again', 'CableCheckReq'],
    ['choose.pre-charge again', 'PreChargeReq'],
  ])('renegotiates with %s, contactors opened first', (choice, message) => {
    const { last, drives } = isoAfter(
      'transfer',
      'choose.renegotiate',
      `PowerDeliveryRes ${ok}, ${well}`,
      'choose.next',
      parameters,
      'choose.open current=none',
      choice,
    );
    expect(last?.message).toBe(message);
    expect(driveWords(drives).at(-1)).toBe('contactors open');
  });

  it('bounds the loops by V2G_EVCC_Ongoing_Timeout, but not while it waits for the customer', () => {
    const ongoing = ['choose.next', `AuthorizationRes ${ok}, processing=ongoing`];
    const customer = ['choose.next', `AuthorizationRes ${ok}, processing=waiting for customer`];
    expect(loopTimers(...ongoing)).toContain('V2G_EVCC_Ongoing_Timeout');
    expect(loopTimers(...ongoing, ...customer)).not.toContain('V2G_EVCC_Ongoing_Timeout');
  });

  it('offers a metering receipt when the charger asks for one', () => {
    const { last } = isoAfter(
      'transfer',
      'choose.next demand=some',
      `CurrentDemandRes ${ok}, ${well}, receipt=yes`,
      'choose.receipt',
    );
    expect(last?.message).toBe('MeteringReceiptReq');
  });
});

describe('what DIN does not have', () => {
  it.each<[Stage, string]>([
    ['selection', 'choose.details'],
    ['selection', 'choose.contract'],
    ['transfer', 'choose.renegotiate'],
    ['stopped', 'choose.pause'],
  ])('in %s, %s is no choice', (stage, choice) => {
    expect(() => play(din, [...vehicleUntil(stage, 'din70121'), choice])).toThrow();
  });

  it('bounds SessionSetup to PowerDelivery by V2G_EVCC_ReadyToCharge_Timeout', () => {
    for (const stage of ['services', 'cable check', 'pre-charge'] as const) {
      const { view } = play(din, [
        ...vehicleUntil(stage, 'din70121'),
        'timer V2G_EVCC_ReadyToCharge_Timeout',
      ]);
      expect(view.says).toBe('gives up');
    }
    const running = play(din, vehicleUntil('transfer', 'din70121')).view.timers;
    expect(running.map(({ name }) => name)).not.toContain('V2G_EVCC_ReadyToCharge_Timeout');
  });
});
