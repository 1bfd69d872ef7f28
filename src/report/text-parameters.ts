// A comparison of parameters in text: verdict first, what moved, and what stops it.
import type { Move } from '../search/parameters/moves.ts';
import type { ParameterComparison } from '../search/parameters/compare-parameters.ts';
import type { Stop } from '../search/parameters/stops.ts';
import { count } from './figures.ts';
import { heading, paragraph, type Look } from './look.ts';
import { plain } from './plain.ts';
import type { CompareTextOptions } from './text-compare.ts';

export function parametersText(
  result: ParameterComparison,
  look: Look,
  { before, after, quiet }: CompareTextOptions,
): string {
  const lines = paragraph(look, verdictLine(result, look), 0, 2);
  if (quiet !== true) {
    const { moves, stops } = result;
    lines.push('', heading(look, `parameters: ${plain(before)} → ${plain(after)}`), '');
    lines.push(look.strong('Moved'), ...moveLines(moves, look), '');
    lines.push(look.strong('What stops it'));
    lines.push(
      ...stops.after.flatMap((stop, index) => stopLines(stop, stops.before[index]!, look)),
    );
    lines.push('', ...paragraph(look, CAUTION).map(look.faint));
  }
  return `${lines.join('\n')}\n`;
}

const CAUTION =
  'Computed from the figures named; a real pack, cable or connector may bear less. Never a clearance to charge.';

function verdictLine({ verdict, reasons, moves }: ParameterComparison, look: Look): string {
  const why = reasons.map(plain).join('. ');
  switch (verdict) {
    case 'equivalent':
      return `${look.verdict.holds('EQUIVALENT')}: no parameter moved.`;
    case 'safe':
      return `${look.verdict.holds('SAFE')}: ${count(moves.length, 'parameter')} moved, and what may be harmed is stopped before.`;
    case 'unsafe':
      return `${look.verdict.broken('UNSAFE')}: ${why}.`;
    default:
      return `${look.verdict.inconclusive('INCONCLUSIVE')}: ${why}.`;
  }
}

function moveLines(moves: readonly Move[], look: Look): string[] {
  if (moves.length === 0) return ['  nothing'];
  return moves.flatMap(({ name, before, after, by }) => {
    const change = by === '' ? '' : `, ${by}`;
    const words = `${name}: ${before ?? 'none'} → ${after ?? 'none'}${change}`;
    return paragraph(look, plain(words), 2, 4);
  });
}

function stopLines(stop: Stop, before: Stop, look: Look): string[] {
  const { what, by, says, limit, source } = stop;
  const mark = by !== null ? '+' : limit === null ? '?' : 'x';
  const held = by === null ? 'nothing in these parameters stops it' : `held by ${by}`;
  const moved =
    before.reached === stop.reached ? '' : ` (before: ${before.reached} ${before.unit})`;
  return [
    ...paragraph(look, plain(`${mark} ${what}: ${says}${moved}; ${held}`), 2, 4),
    ...paragraph(look, plain(`source: ${source}`), 6, 8).map(look.faint),
  ];
}
