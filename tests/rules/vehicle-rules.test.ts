// The vehicle's own duties: crash-isolates (project parameter), weakest-cell (limits from the trace header),
// forward-only (IEC 61851-23:2023, scope of System C: reverse power is not specified).
import { describe, expect, it } from 'vitest';
import { charging, cleanDialogue } from '../support/dialogue.ts';
import { brief, judged, ruleOf, safety } from '../support/judged.ts';

/** A crash at 180 A with the contactor seen closed; open after `open_ms`, and everything off. */
const crashed = (open_ms: number) =>
  charging('iso15118-2')
    .contactor('closed')
    .alarm('vehicle', 'crash')
    .wait(open_ms)
    .contactor('open')
    .ammeter(0)
    .meter('output', 20)
    .close();

describe('crash-isolates', () => {
  it('witness: the contactor still closed 200 ms after the signal', async () => {
    const given = charging('iso15118-2').contactor('closed').alarm('vehicle', 'crash');
    const session = await judged(given.wait(200).ammeter(0).wait(100).contactor('open').close());
    expect(safety(session)[0]).toMatchObject({
      rule: 'crash-isolates',
      status: 'breach',
      owners: ['vehicle'],
      evidence: 'measured',
      confidence: 'project default',
      clause: null,
    });
    expect(safety(session)[0]!.says).toContain('was still closed 200 ms after the crash signal');
  });

  it.each([
    [99, 'holds'],
    [100, 'holds'],
    [101, 'broken'],
  ])('open after %d ms of 100 ms: %s', async (open_ms, verdict) => {
    expect(ruleOf(await judged(crashed(open_ms)), 'crash-isolates').verdict).toBe(verdict);
  });

  it('a contactor that was open at the signal must not close after it', async () => {
    const given = charging('iso15118-2').contactor('open').alarm('vehicle', 'crash');
    const session = await judged(given.wait(40).contactor('closed').wait(100).ammeter(0).close());
    const told = safety(session).find(({ rule }) => rule === 'crash-isolates')!;
    expect(told.status).toBe('breach');
    expect(told.says).toContain('contactor closed 40 ms after the crash signal');
  });

  it('the deadline is a parameter', async () => {
    const session = await judged(crashed(180), { crashDeadline_ms: 200 });
    expect(ruleOf(session, 'crash-isolates').verdict).toBe('holds');
    expect(ruleOf(session, 'crash-isolates').margin).toMatchObject({
      value: 180,
      limit: 200,
      unit: 'ms',
    });
  });

  it('whatever the charger says', async () => {
    const given = charging('iso15118-2').contactor('closed').alarm('charger', 'crash');
    const session = await judged(given.wait(250).ammeter(180).close());
    expect(ruleOf(session, 'crash-isolates').verdict).toBe('broken');
  });

  it('without a record of the contactor: not observed', async () => {
    const given = charging('iso15118-2').alarm('vehicle', 'crash').wait(60).ammeter(0).wait(300);
    const session = await judged(given.ammeter(0).close());
    expect(ruleOf(session, 'crash-isolates').verdict).toBe('not observed');
  });

  it('without a crash: not observed where no alarm is recorded, vacuous where one would be', async () => {
    const plain = await judged(cleanDialogue('din70121'));
    expect(ruleOf(plain, 'crash-isolates').verdict).toBe('not observed');
    const told = await judged(charging('din70121').alarm('vehicle', 'none').stop().end());
    expect(ruleOf(told, 'crash-isolates').verdict).toBe('vacuous');
  });
});

const withCells = (lowest_V: number, highest_V: number) =>
  charging('iso15118-2').cells(lowest_V, highest_V).demand({ seconds: 0.6 });

describe('weakest-cell', () => {
  const cells = { highest_V: 4.25, lowest_V: 2.8, hottest_C: 55, coldest_C: 0 };
  it('witness: one cell at 4.30 V of 4.25 V while the pack as a whole is within its limit', async () => {
    const given = withCells(3.9, 4.3);
    const session = await judged(given.stop().end(), { cells });
    expect(safety(session)[0]).toMatchObject({
      rule: 'weakest-cell',
      status: 'breach',
      owners: ['vehicle'],
      evidence: 'measured',
    });
    expect(safety(session)[0]!.says).toContain('over-voltage');
    expect(ruleOf(session, 'within-limits').verdict).toBe('holds');
  });

  it.each([
    [3.9, 4.25, 'holds'],
    [3.9, 4.251, 'broken'],
    [2.8, 4, 'holds'],
    [2.79, 4, 'broken'],
  ])('cells from %d to %d V: %s', async (lowest_V, highest_V, verdict) => {
    const session = await judged(withCells(lowest_V, highest_V).stop().end(), { cells });
    expect(ruleOf(session, 'weakest-cell').verdict).toBe(verdict);
  });

  it.each([
    [55, true],
    [56, false],
    [0, true],
    [-1, false],
  ])('a cell at %d °C while current flows: kept %s', async (temperature_C, kept) => {
    const given = charging('iso15118-2').cellTemperature(temperature_C).demand({ seconds: 0.6 });
    const session = await judged(given.stop().end(), { cells });
    expect(brief(session).length === 0).toBe(kept);
  });

  it('a cell beyond its limit while no current flows is no breach', async () => {
    const given = charging('iso15118-2').stop().cells(3.9, 4.3).weldingDetection().end();
    expect(brief(await judged(given, { cells }))).toEqual([]);
  });

  it('without limits in the header nothing is judged', async () => {
    const session = await judged(withCells(1, 9).stop().end());
    expect(brief(session)).toEqual([]);
    expect(['vacuous', 'not observed']).toContain(ruleOf(session, 'weakest-cell').verdict);
  });
});

const delivering = (delivers_A: number) =>
  charging('din70121').demand({ seconds: 0.4, delivers_A });

describe('forward-only', () => {
  it('witness: CurrentDemandRes reports −12 A', async () => {
    const session = await judged(delivering(-12).stop().end());
    const found = safety(session).find(({ rule }) => rule === 'forward-only');
    expect(found).toMatchObject({ status: 'breach', owners: ['charger'], evidence: 'reported' });
    expect(found!.says).toContain('-12 A');
    expect(session.verdict).toBe('broken');
  });

  it.each([
    // A report may be 0.5 A off; beyond 2.5 A no tolerance of the current explains it.
    [-0.5, 'holds'],
    [-0.6, 'suspected'],
    [-2.5, 'suspected'],
    [-2.6, 'broken'],
  ])('%d A: %s', async (delivers_A, verdict) => {
    const session = await judged(delivering(delivers_A).stop().end());
    expect(ruleOf(session, 'forward-only').verdict).toBe(verdict);
  });

  it('a suspected reverse current makes no breach of another rule', async () => {
    const session = await judged(delivering(-1.5).stop().end());
    expect(safety(session).filter(({ status }) => status === 'breach')).toEqual([]);
    expect(session.verdict).toBe('holds');
  });
});
