// A proof as checks: one for each rule.
import type { Side } from '../trace/observation.ts';
import type { ProveResult, ProveStep, RuleProof } from '../search/prove/prove-result.ts';
import type { Check, Checked, Outcome, Problem, Step } from './checks.ts';
import { count } from './figures.ts';

/** Machines of the user's own; a bundled one has no file. */
export type MachineFiles = Partial<Record<Side, string>>;

export function checksOfProof(result: ProveResult, files: MachineFiles, again: string): Checked {
  const { verdict, states, protocol } = result;
  return {
    command: 'handfast prove',
    verdict,
    says: `${protocol}, ${count(states, 'state')}: ${verdict}`,
    checks: proofChecks(suiteOf(result), result, files),
    again: verdict === 'holds' ? null : again,
  };
}

const OUTCOMES: Record<RuleProof['verdict'], Outcome> = {
  holds: 'passed',
  broken: 'failed',
  vacuous: 'undecided',
  inconclusive: 'undecided',
  'not modelled': 'skipped',
};

function suiteOf({ protocol, faults }: ProveResult): string {
  return `proof of ${protocol}, at most ${count(faults, 'fault')}`;
}

export function proofChecks(
  suite: string,
  { protocol, rules }: Pick<ProveResult, 'protocol' | 'rules'>,
  files: MachineFiles,
): Check[] {
  return rules.map((proof) => {
    const outcome = OUTCOMES[proof.verdict];
    const says = outcome === 'passed' ? '' : `${proof.verdict}: ${proof.reason}`;
    const told = outcome === 'failed' || outcome === 'undecided';
    const problems = told ? [problemOf(protocol, proof, files)] : [];
    return { suite, name: proof.rule, outcome, says, problems };
  });
}

function problemOf(protocol: string, proof: RuleProof, files: MachineFiles): Problem {
  const { rule, verdict, reason, counterexample } = proof;
  const broken = verdict === 'broken';
  const named = [files.vehicle ?? '', files.charger ?? ''];
  return {
    rule,
    level: broken ? 'error' : 'open',
    says: broken ? `A sequence of the model breaks ${rule}: ${reason}.` : `${verdict}: ${reason}.`,
    file: files.vehicle ?? files.charger ?? null,
    where: '',
    identity: ['proof', protocol, rule, verdict, ...named],
    steps: (counterexample?.steps ?? []).map((step, index, all) =>
      stepOf(step, index === all.length - 1),
    ),
  };
}

function stepOf({ at_s, what, from, message, changes }: ProveStep, here: boolean): Step {
  const side = from ?? (/^(vehicle|charger):/.exec(what)?.[1] as Side | undefined) ?? null;
  const said = message === null ? '' : `: ${message}`;
  const after = changes.map((change) => `${change.what} ${change.to}`).join(', ');
  const does = what.replace(/^(vehicle|charger): /, '');
  return { side, says: `${at_s.toFixed(2)} s: ${does}${said}${after && `; then ${after}`}`, here };
}
