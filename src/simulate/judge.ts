// A simulated trace against what its scenario expects.
import type { FileResult } from '../rules/result.ts';
import type { Expectation } from './scenario.ts';

/** Why the replay is not what was expected; null when it is. */
export function unexpected(result: FileResult, expected: Expectation): string | null {
  if (result.verdict !== expected.verdict) {
    return `${expected.verdict}, but the replay says ${result.verdict}`;
  }
  if (expected.broken === undefined) return null;
  const broken = brokenRules(result);
  const wanted = [...expected.broken].toSorted();
  if (broken.join() === wanted.join()) return null;
  return `${words(wanted)} broken, but the replay finds ${words(broken)}`;
}

function words(rules: readonly string[]): string {
  return rules.length > 0 ? rules.join(', ') : 'none';
}

/** Safety rules that were broken, in the order of their names. */
export function brokenRules({ sessions }: FileResult): string[] {
  const broken = sessions.flatMap(({ rules }) =>
    rules.filter((rule) => rule.class === 'safety' && rule.verdict === 'broken'),
  );
  return [...new Set(broken.map(({ rule }) => rule))].toSorted();
}
