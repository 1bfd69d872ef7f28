// The charger machine against the clauses it models. Sequences and timers: DIN SPEC 70121:2014 7.2, 9.6 and 9.7,
// ISO 15118-2:2014 8.7 and 8.8 (figures from memory; CableCheckRes FAILED after a failed test confirmed by V2G2-585).
import { describe, expect, it } from 'vitest';
import { checkMachine } from '../../src/machine/check.ts';
import { charger as din } from '../../machines/din70121/charger.ts';
import { charger as iso } from '../../machines/iso15118-2/charger.ts';
import { driveWords, play } from './play.ts';
import { chargerUntil, type Stage } from './sessions.ts';

const both = [
  ['din70121', din],
  ['iso15118-2', iso],
] as const;
const asks = 'session=this, ready=yes, error=none';
const answer = 'choose.answer pilot=C, isolation=valid, status=ready';
const demand = `CurrentDemandReq ${asks}, demand=some, complete=no`;

describe.each(both)('charger of %s', (protocol, machine) => {
  const after = (stage: Stage, ...lines: string[]) =>
    play(machine, [...chargerUntil(stage, protocol), ...lines]);

  it('keeps the convention', () => {
    expect(checkMachine(machine)).toEqual([]);
  });

  it('goes through a whole session, driving its output in the order of IEC 61851-23 Annex CC', () => {
    const { messages, drives, view } = after(
      'stopped',
      'WeldingDetectionReq session=this',
      'choose.answer pilot=B',
      'SessionStopReq session=this, ending=terminate',
      'choose.answer pilot=B',
      'timer V2G_SECC_CPOscillator_Retain_Time',
      'timer V2G_SECC_TCP_Close_Wait',
    );
    expect(messages.slice(5)).toEqual([
      'ChargeParameterDiscoveryRes',
      'CableCheckRes',
      'PreChargeRes',
      'PowerDeliveryRes',
      'PowerDeliveryRes',
      'WeldingDetectionRes',
      'SessionStopRes',
    ]);
    expect(driveWords(drives)).toEqual([
      'output test',
      'output off',
      'output precharge',
      'output on',
      'output off',
      'output off',
      'pilot X1',
      'output off',
    ]);
    expect(view.says).toBe('has ended the session, connection closed');
  });

  it.each<[string, Stage, string]>([
    ['PreChargeReq before the cable check', 'cable check', `PreChargeReq ${asks}`],
    [
      'PowerDeliveryReq before the pre-charge',
      'tested',
      `PowerDeliveryReq ${asks}, progress=start`,
    ],
    ['CurrentDemandReq before PowerDelivery', 'pre-charge', demand],
    ['CableCheckReq in the transfer', 'transfer', `CableCheckReq ${asks}`],
    ['CurrentDemandReq after the stop', 'stopped', demand],
    ['SessionSetupReq twice', 'services', 'SessionSetupReq session=new'],
  ])('refuses %s with FAILED_SequenceError, output off', (_, stage, request) => {
    const { last, drives, view } = after(stage, request, 'choose.refuse');
    expect(last).toMatchObject({
      message: `${request.split('Req')[0]}Res`,
      code: 'sequence error',
    });
    expect(driveWords(drives).at(-1)).toBe('output off');
    expect(view.says).toBe('has ended the session');
  });

  it('refuses a request while another is unanswered', () => {
    expect(after('transfer', demand, demand, 'choose.refuse').last?.code).toBe('sequence error');
  });

  it('refuses another session with FAILED_UnknownSession', () => {
    const { last } = after(
      'transfer',
      'CurrentDemandReq session=foreign, ready=yes, error=none',
      'choose.refuse',
    );
    expect(last).toMatchObject({ message: 'CurrentDemandRes', code: 'unknown session' });
  });

  it('may fail any request, and grants nothing after that', () => {
    const failed = after('transfer', demand, 'choose.fail');
    expect(failed.last).toMatchObject({ code: 'failed' });
    expect(driveWords(failed.drives)).toContain('output off');
    expect(() => after('transfer', demand, 'choose.fail', demand, answer)).toThrow();
    const end = ['SessionStopReq session=this, ending=terminate', 'choose.answer'];
    expect(after('transfer', demand, 'choose.fail', ...end).last?.message).toBe('SessionStopRes');
  });

  it.each<[string, Stage, string[], string]>([
    ['V2G_SECC_CommunicationSetup_Performance_Time', 'session', [], 'has ended the session'],
    ['V2G_SECC_Sequence_Timeout', 'transfer', [], 'has ended the session, pilot still on'],
    [
      'V2G_SECC_CPState_Detection_Timeout',
      'cable check',
      [`CableCheckReq ${asks}`],
      'must fail the cable check',
    ],
    [
      'V2G_SECC_CableCheck_Performance_Time',
      'cable check',
      [`CableCheckReq ${asks}`, 'sense.pilot pilot=C'],
      'must fail the cable check',
    ],
    [
      'V2G_SECC_Msg_Performance_Time_CurrentDemand',
      'transfer',
      [demand],
      'is late to answer CurrentDemandReq',
    ],
  ])('takes notice of %s', (timer, stage, lines, says) => {
    expect(after(stage, ...lines, `timer ${timer}`).view.says).toBe(says);
  });

  it.each(['fault', 'invalid', 'no monitor'])('fails a test that ended %s', (isolation) => {
    const { last, drives } = after(
      'cable check',
      `CableCheckReq ${asks}`,
      'sense.pilot pilot=C',
      `choose.finish test isolation=${isolation}`,
    );
    expect(last).toMatchObject({ message: 'CableCheckRes', code: 'failed' });
    expect(driveWords(drives).at(-1)).toBe('output off');
  });

  it('puts no test voltage on a cable in state B', () => {
    const { drives, last } = after('cable check', `CableCheckReq ${asks}`, 'choose.ongoing');
    expect(last).toMatchObject({ processing: 'ongoing' });
    expect(drives).toEqual([]);
    expect(() =>
      after('cable check', `CableCheckReq ${asks}`, 'choose.finish test isolation=valid'),
    ).toThrow();
  });

  it.each([
    [
      'an error of the vehicle',
      `CurrentDemandReq session=this, ready=yes, error=fault, complete=no`,
    ],
    ['EVReady false', `CurrentDemandReq session=this, ready=no, error=none, complete=no`],
    ['ChargingComplete', `CurrentDemandReq ${asks}, complete=yes`],
    ['state B', 'sense.pilot pilot=B'],
    ['unplugging', 'sense.pilot pilot=A'],
    ['the end of the connection', 'link.closed'],
  ])('switches its output off at %s', (_, line) => {
    expect(driveWords(after('transfer', line).drives).at(-1)).toBe('output off');
  });

  it.each([
    'choose.answer pilot=C, isolation=fault, status=ready',
    'choose.answer pilot=C, isolation=valid, status=emergency',
    'choose.answer pilot=C, isolation=valid, status=shutdown',
    'choose.answer pilot=B, isolation=valid, status=ready',
  ])('goes on answering with its output off after %s', (withdrawal) => {
    const { drives, view, last } = after('transfer', demand, withdrawal, demand, answer);
    expect(driveWords(drives).at(-1)).toBe('output off');
    expect(last).toMatchObject({ message: 'CurrentDemandRes', code: 'ok' });
    expect(view.leaves).toEqual(['transfer.off.expects']);
  });

  it('grants power only with EVSE_Ready, and not to a vehicle with an error', () => {
    const unready = after(
      'power asked',
      'choose.answer pilot=C, isolation=valid, status=not ready',
    );
    expect(driveWords(unready.drives)).not.toContain('output on');
    const faulty = after(
      'pre-charge',
      'PowerDeliveryReq session=this, ready=yes, error=fault, progress=start',
      answer,
    );
    expect(driveWords(faulty.drives)).not.toContain('output on');
  });

  it('answers WeldingDetection and SessionStop after a stop only in state B', () => {
    expect(() =>
      after('stopped', 'WeldingDetectionReq session=this', 'choose.answer pilot=C'),
    ).toThrow();
    expect(() =>
      after('stopped', 'SessionStopReq session=this, ending=terminate', 'choose.answer pilot=C'),
    ).toThrow();
  });

  it.each<Stage>(['services', 'selection', 'parameters', 'cable check', 'tested', 'transfer'])(
    'lets the vehicle end the session from %s',
    (stage) => {
      const { last } = after(
        stage,
        'SessionStopReq session=this, ending=terminate',
        'choose.answer',
      );
      expect(last).toMatchObject({ message: 'SessionStopRes', code: 'ok' });
    },
  );

  it.each<Stage>(['cable check', 'tested', 'pre-charge', 'transfer'])(
    'lets the vehicle stop from %s',
    (stage) => {
      const stop = 'PowerDeliveryReq session=this, progress=stop';
      expect(after(stage, stop, 'choose.answer').view.leaves).toEqual(['stopped.expects']);
    },
  );
});

describe('what only ISO 15118-2 has', () => {
  it.each(['CableCheckReq', 'PreChargeReq', 'PowerDeliveryReq'])(
    'goes on with %s after renegotiation',
    (request) => {
      const { view } = play(iso, [
        ...chargerUntil('transfer', 'iso15118-2'),
        `PowerDeliveryReq ${asks}, progress=renegotiate`,
        'choose.answer',
        `ChargeParameterDiscoveryReq ${asks}`,
        'choose.answer',
        `${request} ${asks}, progress=start`,
      ]);
      expect(view.says).toBe(`answers ${request}`);
    },
  );

  it('must decide once V2G_SECC_Ongoing_Performance_Time has run out', () => {
    const lines = [
      ...chargerUntil('authorization', 'iso15118-2'),
      'AuthorizationReq session=this',
      'choose.ongoing',
      'AuthorizationReq session=this',
      'timer V2G_SECC_Ongoing_Performance_Time',
    ];
    expect(() => play(iso, [...lines, 'choose.ongoing'])).toThrow();
    expect(play(iso, [...lines, 'choose.answer']).last).toMatchObject({ processing: 'finished' });
  });

  it('pauses; DIN refuses a pause as out of order', () => {
    const pause = 'SessionStopReq session=this, ending=pause';
    const { last } = play(iso, [...chargerUntil('transfer', 'iso15118-2'), pause, 'choose.answer']);
    expect(last).toMatchObject({ message: 'SessionStopRes', code: 'ok' });
    const refused = play(din, [...chargerUntil('transfer', 'din70121'), pause, 'choose.refuse']);
    expect(refused.last).toMatchObject({ code: 'sequence error' });
  });
});
