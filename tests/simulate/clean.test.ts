// Undisturbed sessions: they hold under every rule, speak messages that can be encoded, and come out the same every time.
import { describe, expect, it } from 'vitest';
import { traceText } from '../../src/simulate/run-scenario.ts';
import { encodeExi, decodeExi } from '../../src/wire/exi/codec.ts';
import type { MessageObservation } from '../../src/trace/observation.ts';
import { replay, rulesOf, run } from './support.ts';

describe('a choice that a scenario makes', () => {
  it('is made at its time: a renegotiation in the middle of a session, which holds', async () => {
    const renegotiates = { at_s: 9, side: 'vehicle', choose: 'choose.renegotiate' } as const;
    const simulated = run({ protocol: 'iso15118-2', choices: [renegotiates] });
    const asked = simulated.observations.filter(
      (one) => one.kind === 'message' && one.message.ChargeProgress !== undefined,
    );
    expect(asked).toMatchObject([
      { message: { ChargeProgress: 'Start' } },
      { at_ns: 9e9, message: { ChargeProgress: 'Renegotiate' } },
      { message: { ChargeProgress: 'Start' } },
      { message: { ChargeProgress: 'Stop' } },
    ]);
    expect((await replay(simulated)).verdict).toBe('holds');
  });
});

describe.each(['din70121', 'iso15118-2'] as const)('a clean session of %s', (protocol) => {
  const simulated = run({ protocol });

  it('holds under every rule, and leaves out nothing a trace could show but a crash', async () => {
    const result = await replay(simulated);
    expect(result.verdict).toBe('holds');
    const { 'crash-isolates': crash, ...others } = rulesOf(result);
    expect(crash).toBe('not observed');
    expect(new Set(Object.values(others))).toEqual(new Set(['holds']));
    expect(result.sessions[0]!.findings).toEqual([]);
    expect(result.sessions[0]!.summary.divergences ?? []).toEqual([]);
  });

  it('speaks only messages its protocol can encode', () => {
    const messages = simulated.observations.filter(
      (one): one is MessageObservation => one.kind === 'message',
    );
    expect(messages.length).toBeGreaterThan(100);
    for (const { name, message, header, protocol: schema } of messages) {
      if (schema === 'slac' || schema === 'sdp') throw new Error(`${name} of ${schema}`);
      const framed =
        header === undefined ? { [name]: message } : { Header: header, Body: { [name]: message } };
      expect(decodeExi(schema, encodeExi(schema, framed))).toEqual(framed);
    }
  });

  it('moves the energy that its charge says', () => {
    // Half a percent of 96 × 3 cells of 60 Ah at about 361 V (3.76 V a cell), and no more than 10 % of losses.
    const stored_Wh = (simulated.stateOfCharge_percent / 100 - 0.5) * 180 * 361;
    expect(simulated.energy_Wh).toBeGreaterThan(stored_Wh * 0.98);
    expect(simulated.energy_Wh).toBeLessThan(stored_Wh * 1.1);
  });

  it('is the same by the same seed, and another by another', () => {
    expect(traceText(run({ protocol }))).toBe(traceText(simulated));
    expect(traceText(run({ protocol, seed: 2 }))).not.toBe(traceText(simulated));
  });
});
