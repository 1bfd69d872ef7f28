// What the exit code says. Mixed outcomes take the most serious: 70, 1, 4, 3, 0.
import type { Verdict } from '../rules/result.ts';

export const EXIT = {
  holds: 0,
  broken: 1,
  usage: 2,
  inconclusive: 3,
  unreadable: 4,
  fault: 70,
  interrupted: 130,
} as const;

export const EXIT_HELP = `Exit codes:
  0    holds: no safety rule was broken
  1    broken: a safety rule was broken (with --strict any rule)
  2    the command line is wrong; nothing was read
  3    inconclusive: the recording does not decide it, or parts are missing
  4    an input cannot be read: missing, not a capture, a folder without captures
  70   internal fault of handfast
  130  interrupted (Ctrl-C); what was finished is printed
  When outcomes are mixed: 70 before 1 before 4 before 3 before 0.`;

const PRECEDENCE: number[] = [EXIT.fault, EXIT.broken, EXIT.unreadable, EXIT.inconclusive];

export function worstExit(codes: number[]): number {
  return PRECEDENCE.find((code) => codes.includes(code)) ?? EXIT.holds;
}

export function exitOf(verdict: Verdict): number {
  return EXIT[verdict];
}
