import type { Verdict } from './result.ts';

/** Most serious first. */
export const VERDICTS: readonly Verdict[] = ['broken', 'unreadable', 'inconclusive', 'holds'];

/** The verdict of many: their most serious; of none, `holds`. */
export function worstVerdict(all: readonly { verdict: Verdict }[]): Verdict {
  return VERDICTS.find((verdict) => all.some((one) => one.verdict === verdict)) ?? 'holds';
}
