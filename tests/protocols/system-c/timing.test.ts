// Figures as they stand in the standards: ISO 15118-2 Table 109 and DIN SPEC 70121 9.6 (from memory); cable check 40 s
// confirmed by V2G-DC-380 and V2G2-702.
import { describe, expect, it } from 'vitest';
import { timing as din } from '../../../src/protocols/din70121/timing.ts';
import { timing as iso } from '../../../src/protocols/iso15118-2/timing.ts';
import { answerTime, messageTimeout } from '../../../src/protocols/system-c/timing.ts';

describe('timing', () => {
  it.each([
    ['CurrentDemand', 250, 25],
    ['CableCheck', 2000, 1500],
    ['PowerDelivery', 5000, 4500],
    ['SessionStop', 2000, 1500],
  ])('%s waits %d ms and is answered in %d ms in both protocols', (message, wait, answer) => {
    for (const timing of [din, iso]) {
      expect(timing[messageTimeout(message)]!.ms).toBe(wait);
      expect(timing[answerTime(message)]!.ms).toBe(answer);
    }
  });

  it('leaves the charger less time than the vehicle waits, everywhere', () => {
    for (const timing of [din, iso]) {
      const waits = Object.keys(timing).filter((name) => name.startsWith(messageTimeout('')));
      expect(waits.length).toBeGreaterThan(10);
      for (const name of waits) {
        const answer = timing[answerTime(name.slice(messageTimeout('').length))]!;
        expect(answer.ms).toBeLessThan(timing[name]!.ms);
      }
    }
  });

  it('has what only one protocol bounds', () => {
    expect(din.V2G_EVCC_ReadyToCharge_Timeout!.ms).toBe(150_000);
    expect(iso.V2G_EVCC_ReadyToCharge_Timeout).toBeUndefined();
    expect(iso.V2G_EVCC_Ongoing_Timeout!.ms).toBe(60_000);
    expect(din.V2G_EVCC_Ongoing_Timeout).toBeUndefined();
    expect(din.V2G_EVCC_CableCheck_Timeout).toMatchObject({ ms: 40_000, confidence: 'confirmed' });
  });
});
