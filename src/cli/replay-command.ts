// `handfast replay`: captures in, a verdict out.
import type { ReportFile } from '../report/report-data.ts';
import { worstVerdict } from '../rules/verdicts.ts';
import type { FileResult, Result, SessionResult } from '../rules/result.ts';
import { expectCheckFiles, wantsCheckFiles, writeCheckFiles } from './check-files.ts';
import { exitOf, EXIT, worstExit } from './exit.ts';
import type { Engine, ReplaySettings } from './engine.ts';
import { UsageError } from './errors.ts';
import { findCaptures } from './find-captures.ts';
import { remark, wantsColor, widthOf, type Io } from './io.ts';
import { progressOf } from './progress.ts';
import { jobsFor, replayAll, runsInOrder } from './replay-all.ts';
import { CRASH_DEADLINE_ms, type ReplayOptions } from './replay-options.ts';
import { asOperand, shellCommand } from './shell.ts';
import { expectWritable } from './write-file.ts';

/** Failing files named one by one in the command that shows them again; more are named as the user did. */
const NAMED_AT_MOST = 8;

export async function replayCommand(
  paths: string[],
  options: ReplayOptions,
  io: Io,
  engine: Engine,
): Promise<number> {
  if (options.json && options.jsonl) throw new UsageError('give --json or --jsonl, not both');
  if (options.html !== undefined) await expectWritable(options.html);
  await expectCheckFiles(options);
  const entries = await findCaptures(paths, (bytes) => engine.isInput(bytes));
  if (options.with.length > 0 && entries.length > 1) {
    const found = `these paths hold ${entries.length} files`;
    throw new UsageError(`--with belongs to a single recording, but ${found}`);
  }
  // A bar and lines on the same terminal would run into each other.
  const quiet = options.quiet || (options.jsonl && io.stdout.isTTY);
  const progress = await progressOf(io, { ...options, quiet: quiet ?? false }, entries.length);
  const jobs = options.jobs ?? jobsFor(entries, io.cores);
  const report = await reporter(options, io, runsInOrder(entries, engine, jobs));
  const files: FileResult[] = [];
  const shown: ReportFile[] = [];
  const codes: number[] = [];
  const faults: string[] = [];
  const outcomes = replayAll(entries, engine, {
    settings: { ...settingsOf(options), debug: options.debug ?? false },
    jobs,
    interrupted: io.interrupted,
    onSession: report.session,
    onFinished: () => progress.step(),
  });
  for await (const { file, timelines, fault } of outcomes) {
    if (options.html !== undefined) shown.push({ result: file, timelines });
    // With --jsonl alone nothing is told at the end: its files need not be kept.
    files.push(options.jsonl && !wantsCheckFiles(options) ? { ...file, sessions: [] } : file);
    codes.push(fault === undefined ? exitOf(file.verdict) : EXIT.fault);
    if (fault !== undefined) faults.push(fault);
    await report.finished(file);
  }
  progress.stop();
  const result: Result = { schemaVersion: 1, verdict: worstVerdict(files), files };
  const again = commandFor(paths, result, options);
  await report.end(result, again);
  await reported(shown, again, options, io);
  await checked(result, again, options);
  for (const fault of faults) await io.stderr.write(`${fault}\n`);
  return io.interrupted.aborted ? EXIT.interrupted : worstExit(codes);
}

async function checked(result: Result, again: string, options: ReplayOptions): Promise<void> {
  if (!wantsCheckFiles(options)) return;
  const { checksOfReplay } = await import('../report/checks-replay.ts');
  const strict = options.strict ?? false;
  await writeCheckFiles(checksOfReplay(result, { strict, again }), options);
}

async function reported(
  files: ReportFile[],
  again: string,
  { html, identities = false, ...options }: ReplayOptions,
  io: Io,
): Promise<void> {
  if (html === undefined) return;
  const { writeReport } = await import('./write-report.ts');
  await writeReport(html, { files, again, identities });
  await remark(io, options, `report: ${html}`);
}

interface Reporter {
  /** A session that ended, where they are told one by one. */
  session(path: string, session: SessionResult, epoch: string | null): void;
  finished(file: FileResult): Promise<void>;
  end(result: Result, again: string): Promise<void>;
}

async function nothing(): Promise<void> {}

async function reporter(options: ReplayOptions, io: Io, oneByOne: boolean): Promise<Reporter> {
  if (options.json) {
    const { json } = await import('../report/json.ts');
    return { session: nothing, finished: nothing, end: (result) => io.stdout.write(json(result)) };
  }
  if (options.jsonl) {
    const { fileWithoutSession, sessionLine } = await import('../report/json.ts');
    const session: Reporter['session'] = (path, one, epoch) => {
      void io.stdout.write(sessionLine(path, epoch, one));
    };
    const finished = (file: FileResult): Promise<void> => {
      if (!oneByOne) for (const one of file.sessions) session(file.file, one, file.epoch);
      // An unreadable file says so, whatever was told before it broke off.
      const bare = file.sessions.length === 0 || file.verdict === 'unreadable';
      return io.stdout.write(bare ? fileWithoutSession(file) : '');
    };
    return { session: oneByOne ? session : nothing, finished, end: nothing };
  }
  const [{ text }, { lookOf }] = await Promise.all([
    import('../report/text.ts'),
    import('../report/look.ts'),
  ]);
  const look = lookOf(widthOf(io.stdout, options), wantsColor(io.stdout, options, io.env));
  const quiet = options.quiet ?? false;
  return {
    session: nothing,
    finished: nothing,
    end: (result, again) => io.stdout.write(text(result, look, { quiet, again })),
  };
}

function settingsOf(options: ReplayOptions): ReplaySettings {
  return {
    strict: options.strict ?? false,
    with: options.with.map(({ path, offset_ns }) => ({ path, offset_ns: offset_ns ?? 0 })),
    crashDeadline_ms: options.crashDeadline,
    timelines: options.html !== undefined,
  };
}

/** The command that shows the failures of this run again, with the options that decide the verdict. */
function commandFor(paths: string[], result: Result, options: ReplayOptions): string {
  const words = ['handfast', 'replay'];
  if (options.strict) words.push('--strict');
  if (options.crashDeadline !== CRASH_DEADLINE_ms) {
    words.push('--crash-deadline', String(options.crashDeadline));
  }
  for (const { path, offset_ns } of options.with) {
    words.push('--with', path);
    if (offset_ns !== null) words.push('--offset', offsetText(offset_ns));
  }
  const failed = result.files.filter((file) => file.verdict === result.verdict);
  const named = failed.length <= NAMED_AT_MOST ? failed.map(({ file }) => file) : paths;
  return shellCommand([...words, ...named.map(asOperand)]);
}

function offsetText(offset_ns: number): string {
  const size = Math.abs(offset_ns);
  const whole = Math.floor(size / 1e9);
  const decimals = String(size % 1e9)
    .padStart(9, '0')
    .replace(/0+$/, '');
  return `${offset_ns < 0 ? '-' : ''}${whole}${decimals === '' ? '' : `.${decimals}`}`;
}
