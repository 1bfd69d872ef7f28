// A campaign of `handfast fuzz` in text.
import type { Coverage } from '../search/prove/coverage.ts';
import type { FuzzFinding, FuzzResult } from '../search/fuzz/fuzz-result.ts';
import type { Item, Plan } from '../search/fuzz/plan.ts';
import type { Side } from '../trace/observation.ts';
import { fields, paragraph, type Look } from './look.ts';
import { plain } from './plain.ts';

export interface FuzzAgain {
  /** The command that shows a finding again. */
  of(finding: FuzzFinding): string;
  campaign: string;
}

export function fuzzText(
  result: FuzzResult,
  look: Look,
  { again, quiet }: { again: FuzzAgain; quiet: boolean },
): string {
  const head = paragraph(look, headline(result), 0, 2);
  if (quiet) return `${head.join('\n')}\n`;
  const lines = [...head, '', ...fields(look, summary(result), 2)];
  for (const finding of result.findings) lines.push('', ...findingLines(finding, look, again));
  lines.push('', 'To run the campaign again:', again.campaign);
  return `${lines.join('\n')}\n`;
}

function headline({ findings, runs, stoppedBy }: FuzzResult): string {
  const [first] = findings;
  if (first !== undefined) {
    return `BROKEN: the ${first.owners.join(' and the ')} broke ${first.rule} in session ${first.run}: ${plain(first.says)}`;
  }
  const ended = stoppedBy === 'interrupted' ? ', interrupted' : '';
  return `NOTHING FOUND in ${runs} sessions${ended}. That is no proof: what was not tried may break.`;
}

function summary(result: FuzzResult): [string, string][] {
  const { protocol, seed, runs, messages, reach, programs } = result;
  return [
    ['protocol', protocol],
    ['seed', `${seed}`],
    ['sessions', `${runs}, with ${messages} messages`],
    ['facts', `${reach.facts.reached} of ${reach.facts.total} values reached`],
    ['vehicle', reachWords(reach.vehicle, programs, 'vehicle')],
    ['charger', reachWords(reach.charger, programs, 'charger')],
  ];
}

function reachWords(reach: Coverage | null, programs: readonly Side[], side: Side): string {
  if (reach === null) {
    return programs.includes(side) ? 'a program: it is fuzzed, never proved' : 'not followed';
  }
  const { states, transitions } = reach;
  return `${states.reached} of ${states.total} states, ${transitions.reached} of ${transitions.total} transitions reached`;
}

function findingLines(finding: FuzzFinding, look: Look, again: FuzzAgain): string[] {
  const { rule, owners, at, messages, run, tries, plan, says, trace } = finding;
  const [first, ...departures] = planWords(plan);
  return [
    ...paragraph(look, `${rule}, charged to the ${owners.join(' and the ')}`),
    ...paragraph(look, plain(says), 2),
    '',
    ...paragraph(look, `After ${messages} messages, at ${at.toFixed(3)} s of ${first}`, 2),
    ...departures.flatMap((departure) => paragraph(look, `- ${departure}`, 4, 6)),
    ...paragraph(look, `Found in session ${run}, and made this simple in ${tries} tries.`, 2),
    ...(trace === null ? [] : paragraph(look, `Kept in ${trace}`, 2)),
    '',
    'To see it again:',
    again.of(finding),
  ];
}

/** The departures of a plan, one a line. */
export function planWords({ liar, items, demands }: Plan): string[] {
  const liars = liar === null ? '' : ` with a ${liar} that lies`;
  const some = demands === 1 ? 'one demand' : `${demands} demands`;
  const but = items.length === 0 ? '.' : ', in which';
  return [`an ordinary session of ${some}${liars}${but}`, ...items.map(itemWords)];
}

function itemWords(item: Item): string {
  const { nth } = item;
  switch (item.do) {
    case 'choose':
      return `at its decision ${nth} the ${item.side} takes another way its machine leaves it (${item.pick})`;
    case 'wait':
      return `at its decision ${nth} the ${item.side} waits ${item.ms} ms longer`;
    case 'say':
      return `in its message ${nth} the ${item.side} says otherwise what its machine leaves open (${item.pick})`;
    case 'ask':
      return `from demand ${nth} on the vehicle asks for ${item.A} A at ${item.V} V`;
    case 'happen':
      return `${item.ms} ms after message ${nth}: ${item.what}`;
    case 'delay':
      return `message ${nth} is ${item.ms} ms on the way`;
    case 'lie':
      return `its message ${nth} is another one, whatever its machine says (${item.message}, ${item.pick})`;
    case 'alter':
      return `one fact of its message ${nth} is changed (${item.fact}, ${item.pick})`;
    case 'drive':
      return `with its message ${nth} it drives its hardware against its machine (${item.command})`;
    case 'network':
      return `its message ${nth} is ${item.how === 'foreign' ? 'under the id of another session' : item.how}`;
    case 'sensor':
      return `from message ${nth} on one of its sensors is ${item.how} (${item.which})`;
  }
}
