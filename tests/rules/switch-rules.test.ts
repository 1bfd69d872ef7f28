// Opening and unlocking: open-cold (at most 1 A in a normal stop, 5 A in an error stop, both known roughly: IEC
// 61851-23 Annex CC, shutdown), cold-unlock (at most 60 V: connector lock; ISO 6469-3 class B; P6 of system C, 10).
import { describe, expect, it } from 'vitest';
import { charging, cleanDialogue, falling } from '../support/dialogue.ts';
import { brief, judged, ruleOf, safety } from '../support/judged.ts';

const opened = (current_A: number) =>
  charging('iso15118-2').contactor('closed').rampDown().ammeter(current_A).contactor('open');

const rest = (given: ReturnType<typeof opened>) =>
  given.ammeter(0).stop({ atOnce: true }).meter('output', 20).weldingDetection().end();

describe('open-cold', () => {
  it("witness: the vehicle's contactor opens at 180 A in a normal stop", async () => {
    const given = charging('iso15118-2')
      .contactor('closed')
      .demand({ seconds: 0.2 })
      .contactor('open');
    const found = safety(await judged(rest(given))).find(({ rule }) => rule === 'open-cold');
    expect(found).toMatchObject({ status: 'breach', owners: ['vehicle'] });
    expect(found!.says).toContain('opened its contactor at 180 A');
  });

  it.each([
    [0, 'holds'],
    [0.9, 'holds'],
    [4.9, 'suspected'],
    [5.1, 'broken'],
  ])('opened at %d A: %s', async (current_A, verdict) => {
    const session = await judged(rest(opened(current_A)));
    expect(ruleOf(session, 'open-cold').verdict).toBe(verdict);
  });

  it('an emergency may open under load', async () => {
    const given = charging('iso15118-2').contactor('closed').alarm('vehicle', 'emergency');
    given.contactor('open').ammeter(0).stop({ atOnce: true }).meter('output', 10).end();
    const session = await judged(given);
    expect(ruleOf(session, 'open-cold').verdict).toBe('holds');
    expect(brief(session)).toEqual([]);
  });

  it('without a record of the contactor: judged where welding detection implies it, else vacuous or not observed', async () => {
    expect(ruleOf(await judged(cleanDialogue('iso15118-2')), 'open-cold').verdict).not.toBe(
      'broken',
    );
  });
});

const unlocked = (voltage_V: number) =>
  charging('din70121').lock('locked').stop().meter('inlet', voltage_V).lock('unlocked');

describe('cold-unlock', () => {
  it('witness: the lock opens while the inlet still stands at 380 V', async () => {
    const session = await judged(unlocked(380).weldingDetection([]).end());
    const found = safety(session).find(({ rule }) => rule === 'cold-unlock');
    expect(found).toMatchObject({ status: 'breach', owners: ['vehicle'], evidence: 'measured' });
    expect(found!.says).toContain('unlocked at 380 V; at most 60 V is allowed');
    expect(session.verdict).toBe('broken');
  });

  it.each([
    [59.9, 'holds'],
    [60, 'holds'],
    [60.1, 'broken'],
  ])('unlocked at %d V: %s', async (voltage_V, verdict) => {
    const session = await judged(unlocked(voltage_V).weldingDetection([]).end());
    // The output's last report is the battery's voltage, through a contactor that may still have been closed.
    if (verdict === 'holds') expect(brief(session)).toEqual([]);
    expect(ruleOf(session, 'cold-unlock').verdict).toBe(verdict);
  });

  it('after the close it still belongs to the session', async () => {
    const given = charging('din70121').lock('locked').stop().weldingDetection().end();
    const session = await judged(given.wait(2000).meter('inlet', 340).lock('unlocked'));
    expect(ruleOf(session, 'cold-unlock').verdict).toBe('broken');
  });

  it('a voltage nobody saw: not observed', async () => {
    const given = charging('din70121').lock('locked').stop().end().wait(20_000).lock('unlocked');
    expect(ruleOf(await judged(given), 'cold-unlock').verdict).toBe('not observed');
  });

  it('without a record of the lock: not observed', async () => {
    expect(ruleOf(await judged(cleanDialogue('din70121')), 'cold-unlock').verdict).toBe(
      'not observed',
    );
  });
});

describe('both', () => {
  it('kept in a stop whose current falls by 100 A/s', async () => {
    const given = charging('iso15118-2').lock('locked').contactor('closed');
    given.demand({ seconds: 2.2, asks_A: 0, delivers_A: falling(180, 100) });
    given.stop({ atOnce: true }).contactor('open').wait(100).meter('output', 15).meter('inlet', 15);
    const session = await judged(given.lock('unlocked').end());
    expect(brief(session)).toEqual([]);
    expect(ruleOf(session, 'open-cold').verdict).toBe('holds');
    expect(ruleOf(session, 'cold-unlock').verdict).toBe('holds');
  });
});
