// A finding kept: the trace up to it, cut where it shows, and beside it what it must show and the plan it came from.
import { createHash } from 'node:crypto';
import { mkdir, readFile, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import type { SessionProtocol } from '../../protocols/index.ts';
import { InputError } from '../../trace/input-error.ts';
import type { Observation, Side } from '../../trace/observation.ts';
import { headerLine, observationLine } from '../../trace/writer.ts';
import type { Found } from './campaign.ts';
import type { Plan } from './plan.ts';
import type { Played } from './session.ts';

/** What stands beside a trace (`both-consent-1a2b3c4d.expect.json`). */
export interface Expected {
  readonly handfast: 'regression';
  readonly version: 1;
  readonly protocol: SessionProtocol;
  /** What a replay of the trace must show. */
  readonly rule: string;
  readonly owners: readonly Side[];
  readonly says: string;
  /** The side that was not the bundled one, in words; null where both were. */
  readonly machine: string | null;
  readonly seed: number;
  readonly run: number;
  readonly plan: Plan;
}

const EXPECT_ENDING = '.expect.json';
const TRACE_ENDING = '.jsonl';
const LARGEST_BYTES = 1024 * 1024;

/** Writes both files; returns the path of the trace. */
export async function keep(
  folder: string,
  found: Found,
  played: Played,
  about: Pick<Expected, 'protocol' | 'machine' | 'seed'>,
): Promise<string> {
  const { rule, owners, says, run, shrunk: plan, seenBy, at } = found;
  const expected: Expected = {
    handfast: 'regression',
    version: 1,
    rule,
    owners,
    says,
    run,
    plan,
    ...about,
  };
  const hash = createHash('sha256').update(JSON.stringify([rule, owners, plan, about.machine]));
  const name = join(folder, `${rule}-${hash.digest('hex').slice(0, 8)}`);
  await mkdir(folder, { recursive: true });
  const until = cut(played[seenBy], at).map(observationLine);
  const text = [headerLine({ ...played.header, says }), ...until].join('\n');
  await writeFile(`${name}${TRACE_ENDING}`, `${text}\n`);
  await writeFile(`${name}${EXPECT_ENDING}`, `${JSON.stringify(expected, null, 2)}\n`);
  return `${name}${TRACE_ENDING}`;
}

/** Everything up to the moment it shows. */
function cut(observations: readonly Observation[], at_s: number): readonly Observation[] {
  const until_ns = Math.round(at_s * 1e9);
  return observations.filter(({ at_ns }) => at_ns <= until_ns);
}

/** What stands beside a trace. Throws InputError when it is no such file. */
export async function expectedOf(trace: string): Promise<Expected> {
  const path = trace.endsWith(EXPECT_ENDING)
    ? trace
    : `${trace.slice(0, -TRACE_ENDING.length)}${EXPECT_ENDING}`;
  const mend =
    'give the trace of a finding that `handfast fuzz --save` wrote, with its .expect.json beside it';
  const text = await readFile(path, 'utf8').catch(() => {
    throw new InputError('there is no such file', { file: path }, mend);
  });
  if (text.length > LARGEST_BYTES) throw new InputError('is too large', { file: path }, mend);
  let read: Partial<Expected>;
  try {
    read = Object(JSON.parse(text)) as Partial<Expected>;
  } catch {
    throw new InputError('is not JSON', { file: path }, mend);
  }
  const whole = read.handfast === 'regression' && read.version === 1 && isPlan(read.plan);
  if (!whole) throw new InputError('says of no finding', { file: path }, mend);
  return read as Expected;
}

function isPlan(plan: unknown): plan is Plan {
  const { pack, station, items, demands, sessions } = Object(plan) as Partial<Plan>;
  const figures = [...Object.values(pack ?? {}), ...Object.values(station ?? {})];
  const whole = figures.length === 7 && figures.every((value) => typeof value === 'number');
  const counts = typeof demands === 'number' && typeof sessions === 'number';
  return whole && counts && Array.isArray(items) && items.length <= 1000;
}
