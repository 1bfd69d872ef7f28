// What a gate makes of a baseline: each way to fail, and what is only told.
import { describe, expect, it } from 'vitest';
import type { Baseline } from '../../src/gate/baseline.ts';
import { driftBetween, type Drift } from '../../src/gate/drift.ts';

const covered = { reached: 2, total: 3, missed: ['c'] };
const coverage = { states: covered, transitions: { reached: 1, total: 1, missed: [] } };
const PROOF = 'proof of din70121, at most 1 fault';

function baseline(): Baseline {
  return {
    handfast: 'baseline',
    version: 1,
    proofs: {
      [PROOF]: {
        verdict: 'vacuous',
        rules: { 'open-cold': 'holds', 'welded-told': 'vacuous' },
        states: 10,
        transitions: 20,
        depth: 5,
        coverage: { vehicle: structuredClone(coverage), charger: structuredClone(coverage) },
      },
    },
    traces: {
      'a.pcap': {
        verdict: 'holds',
        sessions: {
          S1: {
            verdict: 'holds',
            rules: { 'open-cold': 'holds' },
            margins: { 'gate-before-close': { value: 10, limit: 20, unit: 'V' } },
            divergences: ['vehicle, frame 9, PreChargeReq: order'],
          },
        },
      },
    },
  };
}

function drift(change: (now: Baseline) => void, marginShrink = 0.05): Drift[] {
  const now = baseline();
  change(now);
  return driftBetween(baseline(), now, marginShrink);
}
const outcomes = (all: Drift[]): string[] => all.map(({ outcome, check }) => `${outcome} ${check}`);
const proof = (now: Baseline) => now.proofs[PROOF]!;
const session = (now: Baseline) => now.traces['a.pcap']!.sessions['S1']!;

it('finds nothing where nothing is different', () => {
  expect(drift(() => {})).toEqual([]);
});

describe('a proof', () => {
  it.each([
    ['open-cold', 'broken', 'failed'],
    ['open-cold', 'vacuous', 'undecided'],
    ['open-cold', 'inconclusive', 'undecided'],
    ['open-cold', 'not modelled', 'undecided'],
    ['welded-told', 'holds', 'told'],
    ['welded-told', 'broken', 'failed'],
  ])('whose %s becomes %s is %s', (rule, verdict, outcome) => {
    const found = drift((now) => (proof(now).rules[rule] = verdict));
    expect(outcomes(found)).toEqual([`${outcome} ${rule}`]);
  });

  it('that no longer judges a rule fails', () => {
    expect(outcomes(drift((now) => delete proof(now).rules['open-cold']))).toEqual([
      'failed open-cold',
    ]);
  });

  it('that takes less of a machine fails, and says what', () => {
    const found = drift((now) => {
      proof(now).coverage.vehicle.states = { reached: 1, total: 3, missed: ['b', 'c'] };
    });
    expect(outcomes(found)).toEqual(['failed coverage']);
    expect(found[0]!.says).toBe('no run takes these states of the vehicle any more: b');
  });

  it('that takes more, or has other counts, is told', () => {
    const found = drift((now) => {
      proof(now).states = 11;
      proof(now).coverage.charger.states = { reached: 3, total: 3, missed: [] };
    });
    expect(outcomes(found)).toEqual(['told coverage', 'told states']);
  });

  it('that is gone fails; a new one is undecided', () => {
    const found = drift((now) => {
      now.proofs['proof of iso15118-2, at most 0 faults'] = proof(now);
      delete now.proofs[PROOF];
    });
    expect(outcomes(found)).toEqual(['failed proof', 'undecided proof']);
  });
});

describe('a recording', () => {
  it('must replay as recorded, for better or worse', () => {
    for (const change of [
      (now: Baseline) => (now.traces['a.pcap']!.verdict = 'broken'),
      (now: Baseline) => (session(now).verdict = 'inconclusive'),
      (now: Baseline) => (session(now).rules['open-cold'] = 'not observed'),
      (now: Baseline) => session(now).divergences.push('charger, frame 10, PreChargeRes: timer'),
      (now: Baseline) => (session(now).divergences = []),
      (now: Baseline) => delete now.traces['a.pcap']!.sessions['S1'],
      (now: Baseline) => (now.traces['a.pcap']!.sessions['S2'] = session(now)),
    ]) {
      expect(outcomes(drift(change))).toEqual(['failed replay']);
    }
  });

  it.each([
    [10.9, 'told'],
    [11, 'told'],
    [11.1, 'failed'],
    [8, 'told'],
  ])('whose margin goes from 10 to %d of 20 V is %s at 5 %%', (value, outcome) => {
    const found = drift((now) => (session(now).margins['gate-before-close']!.value = value));
    expect(outcomes(found)).toEqual([`${outcome} margin of gate-before-close`]);
  });
});
