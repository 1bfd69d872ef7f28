// in-order and in-time, by the bundled machines: listed, and deciding only under --strict (design: Rules). Order: DIN
// SPEC 70121 9.7, ISO 15118-2 8.8; times: ISO 15118-2 8.7, Table 109.
import { describe, expect, it } from 'vitest';
import { charger as dinCharger } from '../../machines/din70121/charger.ts';
import { vehicle as dinVehicle } from '../../machines/din70121/vehicle.ts';
import { charger as isoCharger } from '../../machines/iso15118-2/charger.ts';
import { vehicle as isoVehicle } from '../../machines/iso15118-2/vehicle.ts';
import { delay, drop, frameOf, placeOf, placesOf } from '../support/alter.ts';
import { cleanDialogue, dialogue } from '../support/dialogue.ts';
import { judged, ruleOf } from '../support/judged.ts';

const machines = {
  din70121: { vehicle: dinVehicle, charger: dinCharger },
  'iso15118-2': { vehicle: isoVehicle, charger: isoCharger },
};
const protocols = ['din70121', 'iso15118-2'] as const;

describe.each(protocols)('%s', (protocol) => {
  it('a clean session is in order and in time', async () => {
    const session = await judged(cleanDialogue(protocol), { machines });
    expect(session.findings).toEqual([]);
    expect(session.summary.divergences).toEqual([]);
    expect(ruleOf(session, 'in-order').verdict).toBe('holds');
    expect(ruleOf(session, 'in-time').verdict).toBe('holds');
  });

  it('witness: PreChargeReq follows ChargeParameterDiscoveryRes, with no CableCheckReq between', async () => {
    const clean = cleanDialogue(protocol).observations;
    const places = [...placesOf(clean, 'CableCheckReq'), ...placesOf(clean, 'CableCheckRes')];
    const skipped = drop(clean, ...places);
    const session = await judged(skipped, { machines });
    const frame = frameOf(skipped, 'PreChargeReq');
    const finding = session.findings.find(({ rule }) => rule === 'in-order');
    expect(finding).toMatchObject({ class: 'conformance', owners: ['vehicle'], frame });
    expect(session.summary.divergences[0]).toMatchObject({ side: 'vehicle', frame });
    expect(session.summary.divergences[0]!.allowed.join(' ')).toContain('CableCheckReq');
  });

  it('witness: CableCheckReq is still repeated 41 s after the first', async () => {
    const given = dialogue(protocol).handshake().cableCheck({ rounds: 95, finish: false });
    const session = await judged(given.cableCheck({ rounds: 1 }).end(), { machines });
    const inTime = session.findings.filter(({ rule }) => rule === 'in-time');
    const finding = inTime.find(({ owners }) => owners[0] === 'vehicle');
    expect(finding).toMatchObject({ class: 'conformance', status: 'breach' });
    // V2G_EVCC_CableCheck_Timeout, 40 s (DIN V2G-DC-380, confirmed).
    const first = given.observations[placeOf(given.observations, 'CableCheckReq')]!;
    expect(finding!.at - first.at_ns / 1e9).toBeGreaterThan(40);
    expect(finding!.at - first.at_ns / 1e9).toBeLessThan(41);
  });

  it('the cable check may take 39 s', async () => {
    const given = dialogue(protocol).handshake().cableCheck({ rounds: 88 }).preCharge().start();
    const session = await judged(given.demand().stop().weldingDetection().end(), { machines });
    expect(session.findings).toEqual([]);
  });

  it('decides under --strict only', async () => {
    const clean = cleanDialogue(protocol).observations;
    const late = delay(clean, placeOf(clean, 'CurrentDemandRes', 2), 500);
    expect((await judged(late, { machines })).verdict).toBe('holds');
    expect((await judged(late, { machines, strict: true })).verdict).toBe('broken');
  });

  it('equal remarks are counted, not listed again', async () => {
    const given = dialogue(protocol).handshake().cableCheck().preCharge().start();
    const session = await judged(
      given.demand({ seconds: 4, period_ms: 500, answer_ms: 400 }).stop().end(),
      { machines },
    );
    const late = session.findings.filter(({ seen }) => seen.startsWith('CurrentDemandRes'));
    expect(late).toHaveLength(1);
    expect(late[0]!.says).toMatch(/8 times in all/);
  });
});
