// `handfast fuzz`: sessions at random, guided by what they reach, until one breaks a rule.
import { randomInt } from 'node:crypto';
import { json } from '../report/json.ts';
import { lookOf } from '../report/look.ts';
import { fuzzText } from '../report/text-fuzz.ts';
import { campaign, type CampaignResult, type Progress } from '../search/fuzz/campaign.ts';
import type { FuzzFinding, FuzzResult } from '../search/fuzz/fuzz-result.ts';
import { tellReach } from '../search/fuzz/reach.ts';
import { keep } from '../search/fuzz/regression.ts';
import { delaysOf, Runner, type Subject } from '../search/fuzz/subject.ts';
import type { Side } from '../trace/observation.ts';
import { machinesOf } from './bundled-engine.ts';
import { EXIT } from './exit.ts';
import type { FuzzCommandOptions } from './fuzz-options.ts';
import { fuzzReplay } from './fuzz-replay.ts';
import { subjectOf, type SubjectWords } from './fuzz-subject.ts';
import { teamOf } from './fuzz-team.ts';
import { wantsColor, widthOf, type Io } from './io.ts';
import { shellCommand } from './shell.ts';
import { expectWritable, makeFolder } from './write-file.ts';

const SIDES: readonly Side[] = ['vehicle', 'charger'];

export async function fuzzCommand(options: FuzzCommandOptions, io: Io): Promise<number> {
  if (options.replay !== undefined) return fuzzReplay(options.replay, options, io);
  if (options.html !== undefined) await expectWritable(options.html);
  if (options.save !== undefined) await makeFolder(options.save);
  const { protocol = 'din70121', vehicle, charger } = options;
  const words = { protocol, vehicle, charger };
  const seed = options.seed ?? randomInt(1_000_000_000);
  const subject = await subjectOf(words);
  const runner = new Runner(subject);
  const team = await teamOf(options.workers ?? io.cores, words, runner);
  try {
    const came = await campaign(team, {
      seed,
      runs: options.runs,
      time_s: options.time ?? null,
      delays_ms: delaysOf(subject),
      size: runner.reach.size,
      signal: io.interrupted,
      onProgress: progressTo(io, options),
    });
    if (io.stderr.isTTY && !options.quiet) await io.stderr.write('\r\u001b[K');
    const findings = await findingsOf(came, runner, seed, words, options.save);
    if (options.html !== undefined) await shown(options.html, came, runner, words, seed);
    await tell(resultOf(came, findings, subject, runner, seed), words, options, io);
    if (came.found.length > 0) return EXIT.broken;
    return came.stoppedBy === 'interrupted' ? EXIT.interrupted : EXIT.holds;
  } finally {
    runner.close();
    await team.stop();
  }
}

function progressTo(io: Io, options: FuzzCommandOptions): (progress: Progress) => void {
  return ({ runs, reached, seconds }) => {
    if (!io.stderr.isTTY || options.quiet) return;
    const rate = Math.round(runs / Math.max(seconds, 0.001));
    void io.stderr.write(`\r${runs} of ${options.runs} sessions, ${reached} reached, ${rate}/s `);
  };
}

async function findingsOf(
  { found }: CampaignResult,
  runner: Runner,
  seed: number,
  words: SubjectWords,
  folder: string | undefined,
): Promise<FuzzFinding[]> {
  const told: FuzzFinding[] = [];
  const own = SIDES.flatMap((side) =>
    words[side] === undefined ? [] : [`${side} ${words[side]}`],
  );
  const about = { protocol: words.protocol, machine: own.join(', ') || null, seed };
  for (const one of found) {
    const { rule, owners, says, at, messages, run, tries, shrunk: plan } = one;
    const played = folder === undefined ? null : runner.play(plan).played;
    const trace = played === null ? null : await keep(folder!, one, played, about);
    told.push({ rule, owners, says, at, messages, run, tries, plan, trace });
  }
  return told;
}

/** The sessions found, played again and replayed with the bundled machines. */
async function shown(
  path: string,
  { found, runs }: CampaignResult,
  runner: Runner,
  words: SubjectWords,
  seed: number,
): Promise<void> {
  const { writeFoundReport } = await import('./found-report.ts');
  const ways = found.map(({ rule, says, shrunk, seenBy }) => {
    const { played } = runner.play(shrunk);
    return { rule, header: { ...played.header, says }, observations: played[seenBy] };
  });
  const again = shellCommand([...sidesOf(words), '--seed', `${seed}`, '--runs', `${runs}`]);
  const rules = found.map(({ rule }) => rule);
  const amount = `${runs} sessions at random`;
  const says =
    found.length === 0
      ? `nothing was found in ${amount}, which proves nothing.`
      : `${amount} broke ${rules.join(', ')}.`;
  await writeFoundReport(path, ways, machinesOf, { title: amount, says, again });
}

function resultOf(
  came: CampaignResult,
  findings: FuzzFinding[],
  subject: Subject,
  runner: Runner,
  seed: number,
): FuzzResult {
  const { runs, messages, seconds, stoppedBy, reached } = came;
  return {
    schemaVersion: 1,
    protocol: subject.protocol,
    verdict: findings.length > 0 ? 'broken' : 'nothing found',
    seed,
    runs,
    messages,
    seconds,
    stoppedBy,
    programs: SIDES.filter((side) => 'program' in subject[side]),
    findings,
    reach: tellReach(runner.tables, reached),
  };
}

async function tell(
  result: FuzzResult,
  words: SubjectWords,
  options: FuzzCommandOptions,
  io: Io,
): Promise<void> {
  if (options.json === true) {
    await io.stdout.write(json(result));
    return;
  }
  const look = lookOf(widthOf(io.stdout, options), wantsColor(io.stdout, options, io.env));
  const { seed, runs } = result;
  const whole = shellCommand([...sidesOf(words), '--seed', `${seed}`, '--runs', `${runs}`]);
  const of = ({ trace }: FuzzFinding): string =>
    trace === null ? whole : shellCommand([...sidesOf(words), '--replay', trace]);
  const again = { campaign: whole, of };
  await io.stdout.write(fuzzText(result, look, { again, quiet: options.quiet === true }));
}

function sidesOf({ protocol, vehicle, charger }: SubjectWords): string[] {
  return [
    'handfast',
    'fuzz',
    '--protocol',
    protocol,
    ...(vehicle === undefined ? [] : ['--vehicle', vehicle]),
    ...(charger === undefined ? [] : ['--charger', charger]),
  ];
}
