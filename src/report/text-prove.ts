// A proof in text: verdict first, what was searched, rule by rule, the shortest ways to a breach, what of both machines
// was taken, and what it all assumes.
import type { Coverage, Covered } from '../search/prove/coverage.ts';
import type { ProveResult, RuleProof } from '../search/prove/prove-result.ts';
import { count, list } from './figures.ts';
import { fields, heading, padEnd, paragraph, type Look } from './look.ts';
import { plain } from './plain.ts';
import { counterexampleLines } from './text-counterexample.ts';

export interface ProveTextOptions {
  /** The command that searches the same again. */
  again: string;
  /** The verdict alone. */
  quiet?: boolean;
}

const NOT_A_CLEARANCE =
  '`holds` is evidence about a model, never a clearance to energise anything.';

export function proveText(result: ProveResult, look: Look, options: ProveTextOptions): string {
  const lines = paragraph(look, verdictLine(result, look), 0, 2);
  if (options.quiet !== true) lines.push('', ...body(result, look));
  if (result.verdict !== 'holds') {
    if (options.quiet !== true) lines.push('', 'To see it again:');
    lines.push(options.again);
  }
  return `${lines.join('\n')}\n`;
}

function body(result: ProveResult, look: Look): string[] {
  const broken = result.rules.filter(({ counterexample }) => counterexample !== null);
  const told = broken.flatMap(({ rule, counterexample }) => [
    ...counterexampleLines(rule, counterexample!, look),
    '',
  ]);
  return [
    heading(look, `${result.protocol}, ${TOGETHER[result.judged]}`),
    '',
    ...fields(look, searched(result), 2),
    '',
    look.strong('Rules'),
    ...ruleLines(result.rules, look),
    '',
    ...told,
    ...safeEndLines(result, look),
    ...residualLines(result, look),
    look.strong('Taken by some run'),
    ...coverageLines(result, look),
    '',
    look.strong('Assumed'),
    ...bullets(result.assumes, look),
    '',
    ...paragraph(look, NOT_A_CLEARANCE).map(look.faint),
  ];
}

const TOGETHER: Record<ProveResult['judged'], string> = {
  both: 'vehicle and charger together',
  vehicle: 'the vehicle alone, against a charger that may do anything',
  charger: 'the charger alone, against a vehicle that may do anything',
};

const SAFE_ENDS: Record<NonNullable<ProveResult['safeEnd']>['verdict'], string> = {
  holds:
    'From every state a safe end can be reached: contactors open, at most 60 V, unlocked; or told and locked behind a contactor that stayed closed. That a way exists does not say that it is taken.',
  broken: 'There are states from which no safe end can be reached any more.',
  inconclusive: 'Not decided: the search stopped at a limit.',
};

function safeEndLines({ safeEnd }: ProveResult, look: Look): string[] {
  if (safeEnd === null) return [];
  const told = safeEnd.counterexample;
  return [
    look.strong('Safe end'),
    ...paragraph(look, SAFE_ENDS[safeEnd.verdict], 2),
    '',
    ...(told === null ? [] : [...counterexampleLines('a safe end', told, look), '']),
  ];
}

/** What no machine of one side can prevent. */
function residualLines({ judged, residual }: ProveResult, look: Look): string[] {
  if (judged === 'both' || residual.length === 0) return [];
  const other = judged === 'vehicle' ? 'charger' : 'vehicle';
  const text = `A ${other} that lies or does what it must not can still break ${list(residual)}, whatever the ${judged} does.`;
  return [look.strong('Residual risk'), ...paragraph(look, text, 2), ''];
}

const names = (rules: readonly RuleProof[], wanted: RuleProof['verdict']): string[] =>
  rules.filter(({ verdict }) => verdict === wanted).map(({ rule }) => rule);

function verdictLine({ verdict, rules, states, stoppedBy }: ProveResult, look: Look): string {
  const word = (of: 'broken' | 'inconclusive' | 'holds', text: string): string =>
    look.verdict[of](text);
  const all = count(states, 'state');
  if (verdict === 'broken') {
    return `${word('broken', 'BROKEN')}: there is a sequence that breaks ${list(names(rules, 'broken'))}.`;
  }
  if (verdict === 'inconclusive') {
    const why = STOPPED[stoppedBy ?? ''] ?? stoppedBy;
    return `${word('inconclusive', 'INCONCLUSIVE')}: nothing was broken in ${all}, but ${why}.`;
  }
  if (verdict === 'vacuous') {
    const idle = list(names(rules, 'vacuous'));
    return `${word('inconclusive', 'VACUOUS')}: no sequence breaks a rule, in all ${all} that can be reached, but nothing there could break ${idle}.`;
  }
  const held = names(rules, 'holds').length;
  return `${word('holds', 'HOLDS')}: no sequence breaks any of ${held} rules, in all ${all} that can be reached.`;
}

const STOPPED: Readonly<Record<string, string>> = {
  states: 'the search stopped at its limit of states (--states)',
  memory: 'the search stopped at its limit of memory (--memory)',
  time: 'the search stopped at its limit of time (--time)',
  interrupt: 'the search was interrupted before its end',
};

function searched(result: ProveResult): [label: string, text: string][] {
  const { states, transitions, depth, seconds, bytesPerState, faults, stoppedBy } = result;
  const rate = Math.round(states / Math.max(seconds, 0.001));
  const far = stoppedBy === null ? 'the furthest state' : 'the furthest state so far';
  return [
    ['searched', `${count(states, 'state')}, ${count(transitions, 'step')} between them`],
    ['depth', `${far} is ${count(depth, 'step')} away`],
    ['faults', faults === 0 ? 'none' : `at most ${faults} in a run`],
    [
      'effort',
      `${seconds.toFixed(1)} s, ${rate} states/s, ${bytesPerState.toFixed(0)} bytes a state`,
    ],
  ];
}

const MARKS: Record<RuleProof['verdict'], string> = {
  holds: '+',
  broken: 'x',
  vacuous: '?',
  inconclusive: '?',
  'not modelled': '-',
};

/** Why, where that is not said by the verdict itself. */
const TELLING: ReadonlySet<RuleProof['verdict']> = new Set(['vacuous', 'not modelled', 'broken']);

function ruleLines(rules: readonly RuleProof[], look: Look): string[] {
  const [name, verdict] = [
    Math.max(...rules.map((proof) => proof.rule.length)),
    Math.max(...rules.map((proof) => proof.verdict.length)),
  ];
  const indent = 4 + name + 2 + verdict + 2;
  return rules.flatMap((proof) => {
    const head = `  ${MARKS[proof.verdict]} ${padEnd(proof.rule, name)}  ${padEnd(proof.verdict, verdict)}  `;
    const why = TELLING.has(proof.verdict) ? paragraph(look, proof.reason, indent) : [];
    return [`${head}${(why[0] ?? '').trimStart()}`.trimEnd(), ...why.slice(1)];
  });
}

/** A report lists so many; the JSON lists all. */
const MISSED_AT_MOST = 12;

function coverageLines(result: ProveResult, look: Look): string[] {
  const { judged, coverage, neverTaken } = result;
  // A side that may do anything has no machine to cover.
  const sides = judged === 'both' ? (['vehicle', 'charger'] as const) : [judged];
  const rows = sides.map((side): [string, string] => [side, share(coverage[side])]);
  const lines = fields(look, rows, 2);
  for (const side of sides) {
    const { states, transitions } = coverage[side];
    lines.push(...missedLines(`States of the ${side} in no run`, states, look));
    lines.push(...missedLines(`Transitions of the ${side} in no run`, transitions, look));
  }
  if (neverTaken.length === 0) return lines;
  return [...lines, '', look.strong('Steps in no run'), ...bullets(neverTaken, look)];
}

const share = ({ states, transitions }: Coverage): string =>
  `${states.reached} of ${count(states.total, 'state')}, ` +
  `${transitions.reached} of ${count(transitions.total, 'transition')}`;

function missedLines(title: string, { missed }: Covered, look: Look): string[] {
  if (missed.length === 0) return [];
  const more = missed.length - MISSED_AT_MOST;
  const rest = more > 0 ? [`and ${more} more: --json lists them all`] : [];
  return ['', look.strong(title), ...bullets([...missed.slice(0, MISSED_AT_MOST), ...rest], look)];
}

const bullets = (texts: readonly string[], look: Look): string[] =>
  texts.flatMap((text) => paragraph(look, `- ${plain(text)}`, 2, 4));
