// `handfast rules`: what is asked, of whom, on what grounds.
import { json } from '../report/json.ts';
import { lookOf } from '../report/look.ts';
import { rulesText, ruleText, type RuleText } from '../report/text-rules.ts';
import { ruleCatalogue } from '../rules/catalogue.ts';
import { UsageError } from './errors.ts';
import { EXIT } from './exit.ts';
import { wantsColor, widthOf, type CommonOptions, type Io } from './io.ts';
import { nearest } from './nearest.ts';

/** Longer words are no rule's name, nor near one. */
const NAME_AT_MOST = 64;

export async function rulesCommand(
  name: string | undefined,
  options: CommonOptions,
  io: Io,
): Promise<number> {
  const rules = name === undefined ? ruleCatalogue : [found(name)];
  if (options.json) {
    await io.stdout.write(json({ schemaVersion: 1, rules: rules.map(published) }));
    return EXIT.holds;
  }
  const look = lookOf(widthOf(io.stdout, options), wantsColor(io.stdout, options, io.env));
  await io.stdout.write(name === undefined ? rulesText(rules, look) : ruleText(rules[0]!, look));
  return EXIT.holds;
}

function found(name: string): RuleText {
  const rule = ruleCatalogue.find((one) => one.id === name);
  if (rule !== undefined) return rule;
  const ids = ruleCatalogue.map((one) => one.id);
  const near = name.length > NAME_AT_MOST ? [] : nearest(name, ids);
  const mend = near.length > 0 ? `did you mean ${near.join(' or ')}?` : 'handfast rules lists them';
  throw new UsageError(`no rule is named '${name.slice(0, NAME_AT_MOST)}'; ${mend}`);
}

/** The words and figures of a rule, without its code. */
function published(rule: RuleText): RuleText {
  const { id, says, owners, clause, needs, figures, witness } = rule;
  return { id, class: rule.class, says, owners, clause, needs, figures, witness };
}
