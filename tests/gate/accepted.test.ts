// Exceptions: what they cover, and for how long.
import { expect, it } from 'vitest';
import { withAccepted } from '../../src/gate/accepted.ts';
import type { Accepted } from '../../src/gate/project.ts';
import type { Check } from '../../src/report/checks.ts';

const check = (suite: string, name: string, outcome: Check['outcome']): Check => ({
  suite,
  name,
  outcome,
  says: 'it broke',
  problems: [],
});
const CHECKS = [
  check('a.pcap', 'replay', 'failed'),
  check('proof of din70121, at most 1 fault', 'open-cold', 'failed'),
  check('proof of din70121, at most 1 fault', 'coverage', 'passed'),
];
const accept = (name: string, more: Partial<Accepted> = {}): Accepted => ({
  check: name,
  reason: 'known since spring',
  until: '2026-12-31',
  ...more,
});
const outcomes = (accepted: Accepted[], today: string): string[] =>
  withAccepted(CHECKS, accepted, today).checks.map(({ outcome }) => outcome);

it('an exception covers its check until its last day has passed', () => {
  const accepted = [accept('replay', { in: 'a.pcap' })];
  expect(outcomes(accepted, '2026-12-31')).toEqual(['skipped', 'failed', 'passed']);
  expect(outcomes(accepted, '2027-01-01')).toEqual(['failed', 'failed', 'passed', 'failed']);
  const { checks } = withAccepted(CHECKS, accepted, '2027-01-01');
  expect(checks.at(-1)!.says).toBe(
    'the exception for replay in a.pcap: its day was 2026-12-31 (known since spring)',
  );
});

it('says why and until when', () => {
  const { checks } = withAccepted(CHECKS, [accept('replay')], '2026-12-01');
  expect(checks[0]!.says).toBe('accepted until 2026-12-31 (known since spring): it broke');
});

it('covers a proof by its protocol, and nothing it does not name', () => {
  expect(outcomes([accept('open-cold', { in: 'din70121' })], '2026-12-01')[1]).toBe('skipped');
  expect(outcomes([accept('open-cold', { in: 'din' })], '2026-12-01')[1]).toBe('failed');
  expect(outcomes([accept('replay', { in: 'b.pcap' })], '2026-12-01')[0]).toBe('failed');
});

it('tells an exception that nothing needs', () => {
  const { idle } = withAccepted(CHECKS, [accept('coverage'), accept('replay')], '2026-12-01');
  expect(idle).toEqual(['the exception for coverage: not needed now']);
});

it('an expired one fails even where nothing needs it', () => {
  expect(outcomes([accept('cold-unlock', { until: '2026-01-01' })], '2026-12-01').at(-1)).toBe(
    'failed',
  );
});
