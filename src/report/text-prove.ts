// A proof in text: verdict first, rule by rule, the shortest way to a breach, and what it all assumes.
import type { ProveResult, ProveStep, RuleProof } from '../search/prove/prove-result.ts';
import { count } from './figures.ts';
import { heading, padEnd, paragraph, type Look } from './look.ts';
import { plain } from './plain.ts';

const MARKS: Record<RuleProof['verdict'], string> = {
  holds: '+',
  broken: 'x',
  vacuous: '?',
  inconclusive: '?',
  'not modelled': '-',
};

export function proveText(result: ProveResult, look: Look): string {
  const lines = [
    ...paragraph(look, verdictLine(result), 0, 2),
    '',
    heading(look, `${result.protocol}, both sides`),
    '',
    ...paragraph(look, effort(result), 2),
    '',
    look.strong('Rules'),
    ...result.rules.map(
      ({ rule, verdict }) => `  ${MARKS[verdict]} ${padEnd(rule, 18)}  ${verdict}`,
    ),
    '',
  ];
  for (const proof of result.rules) {
    if (proof.counterexample !== null) lines.push(...counterexample(proof, look), '');
  }
  lines.push(look.strong('Assumed'));
  for (const one of result.assumes) lines.push(...paragraph(look, `- ${one}`, 2, 4));
  if (result.neverTaken.length > 0) {
    lines.push('', look.strong('Never taken'));
    for (const one of result.neverTaken) lines.push(...paragraph(look, `- ${plain(one)}`, 2, 4));
  }
  lines.push(
    '',
    ...paragraph(look, '`holds` is evidence about a model, not a clearance to energise anything.'),
  );
  return `${lines.join('\n')}\n`;
}

function verdictLine(result: ProveResult): string {
  const broken = result.rules.filter(({ verdict }) => verdict === 'broken');
  if (broken.length > 0) {
    return `BROKEN: ${broken.map(({ rule }) => rule).join(', ')} can be broken.`;
  }
  if (result.verdict === 'inconclusive') {
    return `INCONCLUSIVE: nothing was broken in ${count(result.states, 'state')}, but the search stopped before its end (${result.stoppedBy}).`;
  }
  if (result.verdict === 'vacuous') {
    const idle = result.rules.filter(({ verdict }) => verdict === 'vacuous');
    return `VACUOUS: no sequence breaks a rule, but nothing in this model could break ${idle.map(({ rule }) => rule).join(', ')}.`;
  }
  const rules = result.rules.filter(({ verdict }) => verdict === 'holds').length;
  return `HOLDS: no sequence breaks any of ${rules} rules, in all ${count(result.states, 'state')} that can be reached.`;
}

function effort({ states, transitions, depth, seconds, bytesPerState }: ProveResult): string {
  return `${count(states, 'state')}, ${count(transitions, 'step')} between them, the furthest ${depth} steps away; ${seconds.toFixed(1)} s, ${bytesPerState.toFixed(0)} bytes a state`;
}

function counterexample({ rule, counterexample: found }: RuleProof, look: Look): string[] {
  return [
    `${look.strong(`How ${rule} breaks`)} (a shortest way, ${count(found!.length, 'step')})`,
    ...found!.steps.flatMap((step) => stepLines(step, look)),
  ];
}

function stepLines({ at_s, what, message }: ProveStep, look: Look): string[] {
  const said = message === null ? '' : `: ${plain(message)}`;
  return paragraph(look, `${at_s.toFixed(2).padStart(7)} s  ${plain(what)}${said}`, 2, 13);
}
