// The summary of a session against closed forms: energy of a constant voltage and current is V·I·t.
import { describe, expect, it } from 'vitest';
import { frameOf } from '../support/alter.ts';
import { charging, cleanDialogue, dialogue, falling } from '../support/dialogue.ts';
import { judged } from '../support/judged.ts';

const protocols = ['din70121', 'iso15118-2'] as const;

describe.each(protocols)('%s', (protocol) => {
  it('stages in the standard’s words, one after the other without a gap', async () => {
    const { summary, from, to } = await judged(cleanDialogue(protocol));
    expect(summary.stages.map(({ stage }) => stage)).toEqual([
      'initialisation',
      'cable check',
      'pre-charge',
      'energy transfer',
      'shutdown',
    ]);
    expect(summary.stages[0]!.from).toBe(from);
    expect(summary.stages.at(-1)!.to).toBe(to);
    for (const { from: begin, to: end, duration_s } of summary.stages) {
      expect(duration_s).toBeCloseTo(end - begin, 9);
    }
  });

  it('energy of 180 A at 362 V for 59.8 s: V·I·t, to the first and from the last sample', async () => {
    const given = dialogue(protocol).handshake().cableCheck().preCharge().start();
    const session = await judged(given.demand({ seconds: 60 }));
    // 300 samples 0.2 s apart: 299 intervals.
    const expected_Wh = (362 * 180 * 59.8) / 3600;
    expect(session.summary.energy_Wh).toBeCloseTo(expected_Wh, 2);
    expect(session.summary.highestCurrent_A).toBe(180);
    expect(session.summary.highestVoltage_V).toBe(362);
  });

  it('energy of a current falling to nothing in a straight line: half of it', async () => {
    const given = charging(protocol, { seconds: 0.2 });
    given.demand({ seconds: 2, asks_A: 0, delivers_A: falling(180, 100), voltage_V: 362 });
    const session = await judged(given);
    // ½·V·I·t for 1.8 s; samples 0.2 s apart make left sums: one interval of 180 A before, and half a step more.
    const triangle_Wh = (0.5 * 362 * 180 * 1.8) / 3600;
    const first_Wh = (362 * 180 * 0.2) / 3600;
    const halfStep_Wh = (0.5 * 362 * 180 * 0.2) / 3600;
    expect(session.summary.energy_Wh).toBeCloseTo(triangle_Wh + first_Wh + halfStep_Wh, 2);
  });

  it('a sample counts no longer than it lives: 0.75 s', async () => {
    const given = dialogue(protocol).handshake().cableCheck().preCharge().start();
    given.demand({ seconds: 0.4, asks_A: 100 }).wait(60_000).ammeter(0);
    const session = await judged(given);
    expect(session.summary.energy_Wh).toBeCloseTo((362 * 100 * (0.2 + 0.75)) / 3600, 2);
  });

  it('state of charge, first and last', async () => {
    const given = charging(protocol).demand({
      seconds: 1,
      vehicle: (at_s) => ({ stateOfCharge_percent: at_s < 0.5 ? 24 : 27 }),
    });
    const session = await judged(given);
    expect(session.summary.stateOfCharge).toEqual({ from_percent: 24, to_percent: 27 });
  });

  it('no energy without current: told as null', async () => {
    const session = await judged(dialogue(protocol).handshake().cableCheck().stop().end());
    expect(session.summary.energy_Wh).toBeNull();
    expect(session.summary.highestCurrent_A).toBeNull();
  });

  it('counts its messages', async () => {
    const given = cleanDialogue(protocol);
    const messages = given.observations.filter(({ kind }) => kind === 'message').length;
    expect((await judged(given)).summary.messages).toBe(messages);
  });
});

describe('ended by', () => {
  it('the vehicle, by its stop', async () => {
    const given = cleanDialogue('din70121');
    const { ended, seenToEnd } = (await judged(given)).summary;
    const frame = frameOf(given.observations, 'PowerDeliveryReq', -1);
    expect(ended).toEqual({
      by: 'vehicle',
      how: `sent PowerDeliveryReq to stop in frame ${frame}; SessionStop, connection closed`,
    });
    expect(seenToEnd).toBe(true);
  });

  it('the charger, by a FAILED answer', async () => {
    const given = dialogue('din70121')
      .handshake()
      .cableCheck({ charger: { code: 'FAILED' } });
    const { ended } = (await judged(given.close('reset', 'charger'))).summary;
    expect(ended.by).toBe('charger');
    expect(ended.how).toContain('answered FAILED');
    expect(ended.how).toContain('connection reset');
  });

  it('the link', async () => {
    const { ended } = (await judged(charging('din70121').close())).summary;
    expect(ended).toEqual({ by: 'link', how: 'connection closed' });
  });

  it('nobody: the recording ends', async () => {
    const given = charging('din70121');
    const { ended, seenToEnd } = (await judged(given)).summary;
    expect(ended.by).toBeNull();
    expect(ended.how).toContain(
      `the recording ends after CurrentDemandRes (frame ${given.nextFrame - 1})`,
    );
    expect(seenToEnd).toBe(false);
  });
});
