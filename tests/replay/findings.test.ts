// Findings as they are told: their order (safety before conformance, breaches before suspicions, a root before what
// follows from it), their cause, and the messages around them.
import { describe, expect, it } from 'vitest';
import { WindowMaker } from '../../src/replay/window.ts';
import type { WindowLine } from '../../src/rules/result.ts';
import { delay, drop, frameOf, placeOf, placesOf } from '../support/alter.ts';
import { charging, cleanDialogue, dialogue } from '../support/dialogue.ts';
import { brief, judged } from '../support/judged.ts';

describe('order', () => {
  it('a root first, its consequences behind it', async () => {
    const given = charging('iso15118-2').demand({ seconds: 4, charger: { isolation: 'Fault' } });
    const { findings } = await judged(given.stop().end());
    const [root, ...rest] = findings.filter(({ class: kind }) => kind === 'safety');
    expect(root).toMatchObject({ id: 'F1', rule: 'stop-means-stop', causedBy: null });
    expect(rest.length).toBeGreaterThan(0);
    for (const one of rest) expect(one.causedBy).toBe('F1');
  });

  it('breaches before suspicions, whichever came first', async () => {
    const given = dialogue('iso15118-2')
      .handshake()
      .cableCheck()
      .preCharge({ reports_V: [328] });
    given
      .start()
      .demand({ seconds: 1 })
      .demand({ seconds: 3, charger: { status: 'EVSE_Shutdown' } });
    const found = brief(await judged(given.stop().end()));
    expect(found[0]).toMatch(/^stop-means-stop breach/);
    expect(found.at(-1)).toMatch(/^gate-before-close suspected/);
  });

  it('safety before conformance', async () => {
    const clean = cleanDialogue('iso15118-2').observations;
    const late = delay(clean, placeOf(clean, 'ServiceDiscoveryRes'), 2500);
    const skipped = drop(late, placeOf(late, 'PowerDeliveryRes'));
    const { findings } = await judged(skipped);
    const classes = findings.map(({ class: kind }) => kind);
    expect(classes.indexOf('conformance')).toBeGreaterThan(classes.lastIndexOf('safety'));
    expect(classes).toContain('conformance');
    expect(findings.map(({ id }) => id)).toEqual(findings.map((_, index) => `F${index + 1}`));
  });

  it('independent breaches in the order of time', async () => {
    const given = dialogue('iso15118-2')
      .handshake()
      .cableCheck()
      .preCharge({ reports_V: [200] });
    given
      .start()
      .demand({ seconds: 1 })
      .demand({ seconds: 3, charger: { status: 'EVSE_Shutdown' } });
    const { findings } = await judged(given.stop().end());
    expect(findings.slice(0, 2).map(({ rule }) => rule)).toEqual([
      'gate-before-close',
      'stop-means-stop',
    ]);
    expect(findings[0]!.at).toBeLessThan(findings[1]!.at);
  });
});

describe('window', () => {
  it('shows three messages before, the one it is about, two after, and what armed its deadline', async () => {
    const given = charging('iso15118-2').demand({
      seconds: 4,
      charger: { status: 'EVSE_Shutdown' },
    });
    const observations = given.stop().end().observations;
    const finding = (await judged(observations)).findings[0]!;
    const { window } = finding;
    const here = window.findIndex((line) => line.here);
    expect(window.filter((line) => line.here)).toHaveLength(1);
    expect(window[here]!.frame).toBe(finding.frame);
    expect(window.slice(here + 1)).toHaveLength(2);
    expect(window.map(({ frame }) => frame)).toContain(finding.deadline!.armedFrame);
    const frames = window.map(({ frame }) => frame!);
    expect(frames).toEqual(frames.toSorted((a, b) => a - b));
    expect(window[here]!.says).toContain('asks 180 A');
  });

  it('counts what it leaves out', async () => {
    const given = charging('iso15118-2').demand({
      seconds: 4,
      charger: { notification: 'StopCharging', delay_s: 2 },
    });
    const { window } = (await judged(given.stop().end())).findings[0]!;
    const gaps = window.filter(({ omitted }) => omitted > 0);
    expect(gaps).toHaveLength(1);
    const after = window.indexOf(gaps[0]!);
    expect(gaps[0]!.omitted).toBe(gaps[0]!.frame! - window[after - 1]!.frame! - 1);
  });

  it('at the very end of a recording has fewer messages after', async () => {
    const given = charging('iso15118-2').demand({
      seconds: 3,
      charger: { status: 'EVSE_Shutdown' },
    });
    const observations = given.observations;
    const finding = (await judged(observations)).findings[0]!;
    const end = observations.findIndex(({ frame }) => frame === finding.frame);
    const cut = (await judged(observations.slice(0, end + 1))).findings[0]!;
    expect(cut.frame).toBe(finding.frame);
    expect(cut.window.at(-1)).toMatchObject({ here: true, frame: finding.frame });
  });

  it('of a meter reading stands at the last message before it', async () => {
    const given = charging('iso15118-2').ammeter(240).demand({ seconds: 0.4 });
    const observations = given.stop().end().observations;
    const finding = (await judged(observations)).findings[0]!;
    expect(finding.frame).toBeNull();
    const places = placesOf(observations, 'CurrentDemandRes');
    expect(finding.window.find((line) => line.here)!.frame).toBe(observations[places[4]!]!.frame);
  });

  it('remembers a trigger however long ago within 512 messages, and stays bounded', () => {
    const maker = new WindowMaker();
    const cuts: WindowLine[][] = [];
    const tell = (frame: number) => {
      const name = 'CurrentDemandReq';
      const of = { frame, at_ns: frame * 1e6, from: 'vehicle', name, request: true } as const;
      maker.message({ ...of, evidence: 'reported' }, 'vehicle');
    };
    for (let frame = 1; frame <= 10_000; frame += 1) tell(frame);
    const cut = (armedFrame: number) =>
      maker.cut({ frame: 10_000, at_ns: 1e10, armedFrame }, (lines) => cuts.push(lines));
    cut(9600);
    cut(100);
    maker.finish();
    expect(cuts[0]!.map(({ frame }) => frame)).toEqual([
      9599, 9600, 9601, 9997, 9998, 9999, 10_000,
    ]);
    expect(cuts[0]!.map(({ omitted }) => omitted)).toEqual([0, 0, 0, 395, 0, 0, 0]);
    expect(cuts[1]!.map(({ frame }) => frame)).toEqual([9997, 9998, 9999, 10_000]);
  });
});

describe('a breach that lasts', () => {
  it('is told once, with how long it went on and until when', async () => {
    const given = charging('din70121').demand({
      seconds: 4,
      charger: { status: 'EVSE_Malfunction' },
    });
    const observations = given.stop().end().observations;
    const [first] = (await judged(observations)).findings;
    expect(first!.says).toMatch(/It went on for \d/);
    const last = Number(/until frame (\d+)/.exec(first!.says)![1]);
    expect(last).toBeGreaterThan(first!.frame!);
    expect(last).toBeLessThanOrEqual(frameOf(observations, 'SessionStopRes') + 1);
  });
});
