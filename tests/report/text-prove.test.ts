// The text of a proof: verdict first, the shortest way told twice (what changes, who says what), the command last.
import stringWidth from 'string-width';
import { describe, expect, it } from 'vitest';
import { lookOf } from '../../src/report/look.ts';
import { proveText } from '../../src/report/text-prove.ts';
import type { ProveResult, RuleProof } from '../../src/search/prove/prove-result.ts';

const rule = (id: string, verdict: RuleProof['verdict'], reason = 'in every state'): RuleProof => ({
  rule: id,
  verdict,
  reason,
  counterexample: null,
});

const missed = Array.from({ length: 15 }, (_, i) => `state ${i} → gone on link.closed`);

const held: ProveResult = {
  schemaVersion: 1,
  protocol: 'din70121',
  verdict: 'holds',
  faults: 1,
  judged: 'both',
  rules: [
    rule('both-consent', 'holds'),
    rule('within-limits', 'not modelled', 'needs amounts that a finite model does not have'),
  ],
  states: 107_911,
  transitions: 1_650_260,
  depth: 90,
  seconds: 4.6,
  bytesPerState: 47,
  stoppedBy: null,
  assumes: ['one request in flight at a time'],
  coverage: {
    vehicle: {
      states: { reached: 40, total: 42, missed: ['crashed.open', 'crashed.unlocked'] },
      transitions: { reached: 232, total: 247, missed },
    },
    charger: {
      states: { reached: 42, total: 42, missed: [] },
      transitions: { reached: 1098, total: 1098, missed: [] },
    },
  },
  neverTaken: ['vehicle: signal.weld'],
  safeEnd: null,
  residual: [],
};

const broken: ProveResult = {
  ...held,
  verdict: 'broken',
  rules: [
    {
      ...rule('gate-before-close', 'broken', 'broken after 34 steps; no shorter way leads there'),
      counterexample: {
        length: 34,
        trace: null,
        steps: [
          {
            at_s: 0,
            what: 'vehicle: choose.next',
            from: 'vehicle',
            message: 'CableCheckReq ready yes, error none',
            changes: [
              { what: 'pilot', to: 'C' },
              { what: 'vehicle consents to', to: 'test' },
            ],
          },
          {
            at_s: 0,
            what: 'a request reaches the charger',
            from: null,
            message: null,
            changes: [],
          },
          {
            at_s: 0.5,
            what: 'charger: choose.finish test',
            from: 'charger',
            message: 'CableCheckRes code ok, processing finished, isolation valid, status ready',
            changes: [{ what: 'isolation', to: 'valid' }],
          },
          {
            at_s: 2.25,
            what: 'vehicle: timer on clock 0 runs out',
            from: null,
            message: null,
            changes: [{ what: 'contactor', to: 'closed\u001b[2J' }],
          },
        ],
      },
    },
    ...held.rules,
  ],
};

const again = 'handfast prove --protocol din70121 --faults 1';
const told = (result: ProveResult, width = 80): string =>
  proveText(result, lookOf(width, false), { again });

describe('a proof in text', () => {
  it('of a breach is told as it was agreed on', async () => {
    await expect(told(broken)).toMatchFileSnapshot('data/prove-broken-80.txt');
  });

  it('begins with its verdict and ends, unless it holds, with the command that shows it again', () => {
    expect(told(broken)).toMatch(/^BROKEN: there is a sequence that breaks gate-before-close\.\n/);
    expect(told(broken).endsWith(`\nTo see it again:\n${again}\n`)).toBe(true);
    expect(told(held)).toMatch(/^HOLDS: no sequence breaks any of 1 rules, in all 107911 states/);
    expect(told(held)).not.toContain(again);
  });

  it('says why it decides nothing', () => {
    const undecided = { ...held, verdict: 'inconclusive' } as const;
    const says = (stoppedBy: string): string =>
      told({ ...undecided, stoppedBy })
        .split('\n\n')[0]!
        .replaceAll(/\s+/g, ' ');
    expect(says('memory')).toMatch(/ at its limit of memory \(--memory\)\.$/);
    expect(says('interrupt')).toMatch(/ was interrupted before its end\.$/);
    const vacuous = { ...held, verdict: 'vacuous', rules: [rule('welded-told', 'vacuous')] };
    expect(told(vacuous as ProveResult)).toMatch(/^VACUOUS: .*\n.*could break\n? *welded-told/);
  });

  it('keeps to the width, and escapes what would act on a terminal', () => {
    for (const width of [60, 80, 120]) {
      for (const line of told(broken, width).split('\n')) {
        expect(stringWidth(line), line).toBeLessThanOrEqual(width);
      }
    }
    expect(told(broken)).not.toContain('\u001b');
  });

  it('is the verdict alone when that is all that is wanted', () => {
    const quiet = proveText(broken, lookOf(80, false), { again, quiet: true });
    expect(quiet.split('\n')).toEqual([
      'BROKEN: there is a sequence that breaks gate-before-close.',
      again,
      '',
    ]);
  });
});
