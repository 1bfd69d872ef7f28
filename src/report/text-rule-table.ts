// Every rule in one table: what it came to, and how close it came to its limit.
import Table from 'cli-table3';
import type { Margin, RuleResult } from '../rules/result.ts';
import { figure, seconds } from './figures.ts';
import { bar, paragraph, type Look } from './look.ts';

const BAR_COLUMNS = 10;

/** Verdicts whose reason the reader needs; that a rule held needs no words. */
const TO_EXPLAIN = new Set(['suspected', 'not observed', 'inconclusive', 'vacuous']);

/** `told`: rules whose reason stands elsewhere. */
export function ruleTable(rules: RuleResult[], told: Set<string>, look: Look): string[] {
  if (rules.length === 0) return [];
  const safety = rules.filter((rule) => rule.class === 'safety');
  const conformance = rules.filter((rule) => rule.class === 'conformance');
  return [
    ...part('Safety rules, and how close they came', safety, told, look),
    ...part('Conformance rules', conformance, told, look),
  ];
}

function part(title: string, rules: RuleResult[], told: Set<string>, look: Look): string[] {
  if (rules.length === 0) return [];
  const explained = rules
    .filter(
      ({ verdict, reason, rule }) => TO_EXPLAIN.has(verdict) && reason !== '' && !told.has(rule),
    )
    .flatMap((rule) => paragraph(look, `${rule.rule}: ${rule.reason}`, 2, 4));
  return [look.strong(title), ...table(rules, look), ...explained, ''];
}

function table(rules: RuleResult[], look: Look): string[] {
  const wide = look.width >= 72;
  const grid = plainTable();
  for (const { rule, verdict, margin } of rules) {
    const row = [`  ${mark(verdict)} ${rule}`, verdict, margin === null ? '' : came(margin)];
    if (wide) row.push(margin === null ? '' : drawn(margin), margin === null ? '' : where(margin));
    grid.push(row);
  }
  return grid
    .toString()
    .split('\n')
    .map((line) => line.trimEnd());
}

function where({ frame, at }: Margin): string {
  return frame === null ? seconds(at) : `frame ${frame}`;
}

/** A table without lines: columns alone make it. */
export function plainTable(): InstanceType<typeof Table> {
  const nothing = { top: '', 'top-mid': '', 'top-left': '', 'top-right': '' };
  return new Table({
    chars: {
      ...nothing,
      bottom: '',
      'bottom-mid': '',
      'bottom-left': '',
      'bottom-right': '',
      left: '',
      'left-mid': '',
      mid: '',
      'mid-mid': '',
      right: '',
      'right-mid': '',
      middle: '',
    },
    style: { 'padding-left': 0, 'padding-right': 2, head: [], border: [] },
  });
}

/** A shape for each verdict, so that a column of them reads without colour. */
function mark(verdict: RuleResult['verdict']): string {
  if (verdict === 'broken') return 'x';
  if (verdict === 'holds') return '+';
  return verdict === 'suspected' ? '~' : '?';
}

function came({ value, limit, unit }: Margin): string {
  return `${figure(value)} of ${figure(limit)} ${unit}`;
}

/** The share of the limit used. A limit of zero has no share. */
function drawn({ value, limit }: Margin): string {
  return limit === 0 ? '' : bar(value / limit, BAR_COLUMNS);
}
