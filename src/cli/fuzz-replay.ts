// `handfast fuzz --replay`: the plan of a kept finding, played again with the sides that are told.
import { json } from '../report/json.ts';
import { lookOf, paragraph } from '../report/look.ts';
import { plain } from '../report/plain.ts';
import { planWords } from '../report/text-fuzz.ts';
import { expectedOf } from '../search/fuzz/regression.ts';
import { Runner } from '../search/fuzz/subject.ts';
import { EXIT } from './exit.ts';
import type { FuzzCommandOptions } from './fuzz-options.ts';
import { subjectOf } from './fuzz-subject.ts';
import { wantsColor, widthOf, type Io } from './io.ts';

export async function fuzzReplay(
  path: string,
  options: FuzzCommandOptions,
  io: Io,
): Promise<number> {
  const expected = await expectedOf(path);
  const { vehicle, charger } = options;
  const protocol = options.protocol ?? expected.protocol;
  const runner = new Runner(await subjectOf({ protocol, vehicle, charger }));
  try {
    const { charges, messages } = runner.run(expected.plan);
    const code = charges.length > 0 ? EXIT.broken : EXIT.holds;
    if (options.json === true) {
      await io.stdout.write(json({ schemaVersion: 1, protocol, messages, charges, expected }));
      return code;
    }
    const look = lookOf(widthOf(io.stdout, options), wantsColor(io.stdout, options, io.env));
    const lines = charges.flatMap(({ rule, owners, says, at }) =>
      paragraph(
        look,
        `BROKEN: the ${owners.join(' and the ')} broke ${rule} at ${at.toFixed(3)} s: ${plain(says)}`,
        0,
        2,
      ),
    );
    if (lines.length === 0) {
      lines.push(
        ...paragraph(
          look,
          `NOTHING BROKEN in ${messages} messages; it was ${expected.rule}: ${plain(expected.says)}`,
          0,
          2,
        ),
      );
    }
    const [first, ...departures] = planWords(expected.plan);
    lines.push('', ...paragraph(look, `The plan: ${first}`));
    for (const departure of departures) lines.push(...paragraph(look, `- ${departure}`, 2, 4));
    await io.stdout.write(`${lines.join('\n')}\n`);
    return code;
  } finally {
    runner.close();
  }
}
