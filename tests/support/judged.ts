// The result of replaying observations made by hand, by the safety rules alone unless machines are handed in.
import { replayTrace, type ReplayOptions } from '../../src/replay/replay.ts';
import type { FileResult, Finding, RuleResult, SessionResult } from '../../src/rules/result.ts';
import type { RuleId } from '../../src/rules/rule.ts';
import type { Observation, OpenTrace, TraceHeader } from '../../src/trace/observation.ts';
import type { Dialogue } from './dialogue.ts';

type Options = Partial<ReplayOptions>;

export function traceOf(observations: Observation[], header: Partial<TraceHeader> = {}): OpenTrace {
  async function* batches(): AsyncGenerator<Observation[]> {
    yield observations;
  }
  return {
    header: { handfast: 'trace', version: 1, epoch: null, ...header },
    observations: batches(),
  };
}

const listOf = (given: Dialogue | Observation[]): Observation[] =>
  Array.isArray(given) ? given : given.observations;

export function replay(
  given: Dialogue | Observation[],
  options: Options = {},
): Promise<FileResult> {
  const usual = { machines: {}, strict: false, crashDeadline_ms: 100 };
  return replayTrace(traceOf(listOf(given)), 'made by hand', { ...usual, ...options });
}

/** The only session of a dialogue. */
export async function judged(
  given: Dialogue | Observation[],
  options: Options = {},
): Promise<SessionResult> {
  const { sessions } = await replay(given, options);
  if (sessions.length !== 1) throw new Error(`${sessions.length} sessions in the dialogue`);
  return sessions[0]!;
}

export function ruleOf(session: SessionResult, rule: RuleId): RuleResult {
  return session.rules.find((one) => one.rule === rule)!;
}

/** Findings of class safety. */
export function safety(session: SessionResult): Finding[] {
  return session.findings.filter((one) => one.class === 'safety');
}

/** Each safety finding in one line: `rule status owners frame <- cause's rule`. */
export function brief(session: SessionResult): string[] {
  const ruleById = new Map(session.findings.map(({ id, rule }) => [id, rule]));
  return safety(session).map(({ rule, status, owners, frame, causedBy }) => {
    const cause = causedBy === null ? '' : ` <- ${ruleById.get(causedBy)}`;
    return `${rule} ${status} ${owners.join('+')} ${frame}${cause}`;
  });
}
