// The isolation latch (design: Facts): valid or warning only by this session's finished test; a status elsewhere may
// lower it, never raise it; an absent status is unknown; No_IMD is not valid.
import { describe, expect, it } from 'vitest';
import { dialogue, type Dialogue } from '../support/dialogue.ts';
import { extractorAfter } from '../support/facts-after.ts';

const isolation = (given: Dialogue) => extractorAfter(given).facts.isolation;
const start = () => dialogue('iso15118-2').handshake();
const finished = (status: string | null) => start().cableCheck({ charger: { isolation: status } });

describe('the test', () => {
  it('is not begun by set-up, whatever ChargeParameterDiscoveryRes says', () => {
    expect(isolation(dialogue('iso15118-2').handshake({ charger: { isolation: 'Valid' } }))).toBe(
      'untested',
    );
  });

  it.each([
    ['Valid', 'valid'],
    ['Warning', 'warning'],
    ['Fault', 'fault'],
    ['Invalid', 'untested'],
    ['No_IMD', 'untested'],
    [null, 'unknown'],
  ])('Finished with %s: %s', (status, expected) => {
    expect(isolation(finished(status))).toBe(expected);
  });

  it.each(['Valid', 'Warning', 'Invalid'])('Ongoing with %s: testing', (status) => {
    expect(isolation(start().cableCheck({ finish: false, charger: { isolation: status } }))).toBe(
      'testing',
    );
  });

  it('Finished but FAILED passes nothing', () => {
    expect(isolation(start().cableCheck({ charger: { code: 'FAILED' } }))).toBe('testing');
  });
});

describe('a status elsewhere', () => {
  it.each([
    ['Valid', 'Warning', 'warning'],
    ['Valid', 'Fault', 'fault'],
    ['Valid', 'Invalid', 'untested'],
    ['Valid', 'No_IMD', 'valid'],
    ['Valid', null, 'valid'],
    ['Warning', 'Valid', 'warning'],
    ['Invalid', 'Valid', 'untested'],
    ['Fault', 'Valid', 'fault'],
    [null, 'Valid', 'unknown'],
  ])('after a test that said %s, PreChargeRes with %s: %s', (tested, later, expected) => {
    const given = finished(tested).preCharge({ charger: { isolation: later } });
    expect(isolation(given)).toBe(expected);
  });

  it('a fault never comes back in the same session, not even by a new test', () => {
    expect(isolation(finished('Fault').cableCheck())).toBe('fault');
  });
});
