// The rules as a person reads them: all in a list, or one with everything behind it.
import type { Figure } from '../facts/figures.ts';
import type { RuleClass } from '../rules/result.ts';
import type { Rule } from '../rules/rule.ts';
import { figure, sides } from './figures.ts';
import { fields, heading, paragraph, type Look } from './look.ts';

/** What the printers need to know of a rule. */
export type RuleText = Pick<
  Rule,
  'id' | 'class' | 'says' | 'clause' | 'owners' | 'needs' | 'figures' | 'witness'
>;

export function rulesText(rules: readonly RuleText[], look: Look): string {
  const part = (kind: RuleClass, title: string): string[] => [
    look.strong(title),
    ...rules.filter((rule) => rule.class === kind).flatMap((rule) => brief(rule, look)),
    '',
  ];
  const lines = [
    ...part('safety', 'Safety rules: they decide the verdict'),
    ...part('conformance', 'Conformance rules: they decide only under --strict'),
    look.faint('handfast rules NAME tells all that is behind one.'),
  ];
  return `${lines.join('\n')}\n`;
}

function brief(rule: RuleText, look: Look): string[] {
  return [
    `  ${look.name(rule.id)}`,
    ...paragraph(look, rule.says, 6),
    ...paragraph(look, `Duty of ${sides(rule.owners)}. ${rule.clause}`, 6),
    ...rule.figures.flatMap((one) => paragraph(look, figureSays(one), 6, 8)),
  ];
}

export function ruleText(rule: RuleText, look: Look): string {
  const lines = [
    heading(look, rule.id),
    ...paragraph(look, rule.says, 2),
    '',
    ...fields(
      look,
      [
        [
          'class',
          rule.class === 'safety'
            ? 'safety: decides the verdict'
            : 'conformance: decides only under --strict',
        ],
        ['duty of', sides(rule.owners)],
        ['clause', rule.clause],
        ['needs', rule.needs],
        ['bites in', rule.witness],
      ],
      2,
    ),
    '',
    ...(rule.figures.length > 0 ? [look.strong('Figures')] : []),
    ...rule.figures.flatMap((one) => paragraph(look, figureSays(one), 2, 4)),
  ];
  while (lines.at(-1) === '') lines.pop();
  return `${lines.join('\n')}\n`;
}

function figureSays({ name, value, unit, source, confidence }: Figure): string {
  return `${figure(value)} ${unit}: ${name} (${source}; ${confidence})`;
}
