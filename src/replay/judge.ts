// From what the rules found to the verdict on one session.
import type { Monitor, RuleTally } from '../rules/monitor.ts';
import { decisive, safetyRules } from '../rules/catalogue.ts';
import type {
  Finding,
  NotObserved,
  RuleResult,
  RuleVerdict,
  SessionResult,
  SessionSummary,
  Verdict,
} from '../rules/result.ts';
import type { Rule, RuleId } from '../rules/rule.ts';
import type { Conformance } from './conformance.ts';
import { conformanceRules } from '../rules/conformance.ts';
import type { SessionProtocol } from '../protocols/index.ts';
import type { Observation } from '../trace/observation.ts';
import type { Loss } from './loss.ts';

/** What the verdict rests on beside the rules. */
interface Judged {
  protocol: SessionProtocol | null;
  losses: Loss[];
  /** Kinds of observation seen: what a recording does not hold cannot be judged. */
  kinds: ReadonlySet<Observation['kind']>;
  options: {
    id: string;
    vehicle: string | null;
    charger: string | null;
    from_ns: number;
    strict: boolean;
    whole: boolean;
  };
}

interface Evidence {
  session: Judged;
  monitor: Monitor;
  conformance: Conformance;
  findings: Finding[];
  summary: Omit<SessionSummary, 'notObserved' | 'divergences'>;
  to_ns: number;
}

export function judgeSession(evidence: Evidence): SessionResult {
  const { session, monitor, conformance, findings, summary } = evidence;
  const complete = summary.seenFromStart && summary.seenToEnd && session.losses.length === 0;
  const rules = [
    ...safetyRules.map((rule) => safetyResult(rule, monitor, findings, session, complete)),
    ...conformanceRules.map((rule) => conformanceResult(rule, findings)),
  ];
  const reasons = reasonsAgainst(rules, session);
  const { id, vehicle, charger, from_ns, strict } = session.options;
  return {
    id,
    protocol: session.protocol ?? (isEncrypted(session) ? 'encrypted' : 'unknown'),
    vehicle,
    charger,
    from: from_ns / 1e9,
    to: evidence.to_ns / 1e9,
    verdict: verdictOf(findings, reasons, strict),
    reasons,
    summary: {
      ...summary,
      notObserved: notObserved(rules, session),
      divergences: conformance.divergences,
    },
    rules,
    findings,
  };
}

function verdictOf(findings: Finding[], reasons: string[], strict: boolean): Verdict {
  const decides = (one: Finding) => strict || (one.class === 'safety' && one.status === 'breach');
  if (findings.some(decides)) return 'broken';
  return reasons.length > 0 ? 'inconclusive' : 'holds';
}

function safetyResult(
  rule: Rule,
  monitor: Monitor,
  findings: Finding[],
  session: Judged,
  complete: boolean,
): RuleResult {
  const tally = monitor.tallies.get(rule.id)!;
  const own = findings.filter((one) => one.rule === rule.id);
  const breach = own.find((one) => one.status === 'breach') ?? own[0];
  const [verdict, reason] =
    breach !== undefined
      ? ([breach.status === 'breach' ? 'broken' : 'suspected', breach.says] as const)
      : undisputed(rule, tally, session, complete);
  return { rule: rule.id, class: rule.class, verdict, reason, margin: marginOf(tally) };
}

function undisputed(
  rule: Rule,
  tally: RuleTally,
  session: Judged,
  complete: boolean,
): [RuleVerdict, string] {
  if (tally.unknown > 0) {
    const where = tally.unknownFrame === null ? '' : ` at frame ${tally.unknownFrame}`;
    return ['not observed', `undecided${where}; it needs ${rule.needs}`];
  }
  if (tally.held > 0) return ['holds', `kept at all ${tally.held} samples at which it applied`];
  const recorded = rule.records?.some((kind) => session.kinds.has(kind)) ?? complete;
  if (!recorded) return ['not observed', `it needs ${rule.needs}`];
  return ['vacuous', 'never applied in this session'];
}

function marginOf({ margin }: RuleTally): RuleResult['margin'] {
  if (margin === null) return null;
  const { value, limit, unit, frame, at_ns } = margin;
  return { value: round(value), limit: round(limit), unit, frame, at: at_ns / 1e9 };
}

const round = (value: number): number => Number(value.toPrecision(9));

function conformanceResult(rule: { id: RuleId; needs: string }, findings: Finding[]): RuleResult {
  const own = findings.find((one) => one.rule === rule.id);
  return {
    rule: rule.id,
    class: 'conformance',
    verdict: own === undefined ? 'holds' : 'broken',
    reason: own?.says ?? 'every message was one the machines allow',
    margin: null,
  };
}

/** Why the session cannot hold, in words; empty when it may. */
function reasonsAgainst(rules: RuleResult[], session: Judged): string[] {
  const reasons = session.losses.map(({ says }) => says);
  if (!session.options.whole) reasons.push('the recording joined the session after its start');
  const undecided = rules.filter(
    ({ rule, verdict }) =>
      (decisive as readonly string[]).includes(rule) &&
      verdict !== 'holds' &&
      verdict !== 'vacuous',
  );
  const open = undecided
    .filter(({ verdict }) => verdict !== 'broken')
    .map(({ rule, verdict, reason }) => `${rule} ${verdict}: ${reason}`);
  // A session joined late may still hold: what counts is whether the three rules were decided.
  if (open.length === 0 && session.losses.length === 0) return [];
  return [...reasons, ...open];
}

function notObserved(rules: RuleResult[], session: Judged): NotObserved[] {
  const found: NotObserved[] = rules
    .filter(({ verdict }) => verdict === 'not observed')
    .map(({ rule, reason }) => ({ what: rule, needs: reason.replace(/^.*it needs /, '') }));
  if (!session.kinds.has('pilot')) {
    found.push({ what: 'control pilot', needs: 'a pilot log beside the capture (--with)' });
  }
  return found;
}

const isEncrypted = (session: Judged): boolean =>
  session.losses.some(({ kind }) => kind === 'encrypted');
